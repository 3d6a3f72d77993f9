import type { ProbeDetail } from '../../../api/probes.ts';
import { LiveWire } from './live-wire.tsx';
import { wireText } from './probe-words.ts';

/** What the probe sent in something known. */
export type Point = { wire: number; isSteady: boolean; said: string };

export const unsettled = 'Taken, but the probe had not settled. Leave it out and wait, if you can.';

/** A second look at what was heard last, for whoever takes it. */
export function takenFrom(probe: ProbeDetail, about: string): Point | undefined {
  const { wire, steadiness } = probe;
  if (wire === null || steadiness.state === 'silent') return undefined;
  const isSteady = steadiness.state === 'steady';
  return { wire: wire.value, isSteady, said: `${wireText(wire)} in ${about}${isSteady ? '' : ' (not yet steady)'}` };
}

/** All but one, or none. */
export function without<Each>(points: readonly Each[], index: number | 'all'): Each[] {
  return index === 'all' ? [] : points.filter((_, at) => at !== index);
}

/** The live number with the button that takes it. */
export function TakeValue({ probe, take }: { probe: ProbeDetail; take: () => void }) {
  return (
    <div class="take">
      <LiveWire probe={probe} />
      <button type="button" class="primary" onClick={take}>
        Take this value
      </button>
    </div>
  );
}

export function TakenPoints({ points, remove }: { points: readonly Point[]; remove: (index: number) => void }) {
  if (points.length === 0) return <p>Nothing taken so far.</p>;
  return (
    <ol class="taken" aria-label="Taken">
      {points.map((point, index) => (
        <li key={`${index} ${point.said}`}>
          <span>{point.said}</span>
          <button type="button" onClick={() => remove(index)} aria-label={`Leave out ${point.said}`}>
            Leave out
          </button>
        </li>
      ))}
    </ol>
  );
}

/** One number of a form. */
export function NumberField({
  id,
  label,
  value,
  edit,
}: {
  id: string;
  label: string;
  value: string;
  edit: (value: string) => void;
}) {
  return (
    <label for={id}>
      {label}
      <input
        id={id}
        inputMode="decimal"
        autocomplete="off"
        value={value}
        onInput={(event) => edit(event.currentTarget.value)}
      />
    </label>
  );
}
