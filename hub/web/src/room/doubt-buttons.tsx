import type { Doubt } from '../../../api/problem.ts';

/**
 * The answers to a doubt of the hub. The large button does what was most likely meant: a tap in haste must not keep a slip.
 * Where nobody can tell what was meant there is only the number as typed, and the field beside it.
 */
export function DoubtButtons({
  about,
  said,
  answer,
}: {
  about?: Doubt;
  said: string;
  answer(which: 'meant' | 'as_typed'): void;
}) {
  return (
    <>
      {about?.meant !== undefined && (
        <button type="button" class="primary" onClick={() => answer('meant')}>
          Save {about.meant.say}
        </button>
      )}
      <button type="button" onClick={() => answer('as_typed')}>
        It really is {about?.typed ?? said}
      </button>
    </>
  );
}
