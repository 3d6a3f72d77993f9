import { randomInt } from 'node:crypto';

/** Without i, l, o, 0 and 1, which look alike on a small screen. */
const signs = 'abcdefghjkmnpqrstuvwxyz23456789';

/** Typed once with thumbs: four groups of four, 31^16 or 79 bits. */
export function phonePassword(): string {
  const group = () => Array.from({ length: 4 }, () => signs[randomInt(signs.length)]).join('');
  return Array.from({ length: 4 }, group).join('-');
}
