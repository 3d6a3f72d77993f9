import { signal } from '@preact/signals';

/** Follows a width of the screen. */
function follow(query: string) {
  const list = matchMedia(query);
  const held = signal(list.matches);
  list.addEventListener('change', () => {
    held.value = list.matches;
  });
  return held;
}

/** As in `style/rows.css`, where a row stands below its words. */
export const isPhone = follow('(max-width: 620px)');
