import type { ComponentChildren } from 'preact';
import { Failure } from '../corals/fields.tsx';

/** A heading with what the hub told below it: while it is asked, that it is asked, and never a heading above nothing. */
export function AskedPart({
  title,
  isTold,
  failure,
  children,
}: {
  title: string;
  isTold: boolean;
  failure: string | undefined;
  children: ComponentChildren;
}) {
  return (
    <>
      <h4>{title}</h4>
      <Failure text={failure} />
      {isTold ? children : failure === undefined && <p class="aside">Asking the hub …</p>}
    </>
  );
}
