import { useState } from 'preact/hooks';
import type { ProbeDetail } from '../../../http/routes-probes.ts';
import { KeepCalibration } from './keep-calibration.tsx';
import { type Point, TakenPoints, TakeValue, takenFrom, unsettled } from './taken-points.tsx';
import { typedNumber } from './typed-number.ts';

type LinearPoint = Point & { reference: number };

/** Beyond it rather the unit or the reference is wrong than the probe. common practice, no published source */
const usualSlope = [0.8, 1.25] as const;

/** Slope and offset from one reference (an offset alone) or two. */
function lineThrough(points: readonly LinearPoint[]): { slope: number; offset: number } | undefined {
  const [first, second] = points;
  if (first === undefined) return undefined;
  if (second === undefined) return { slope: 1, offset: first.reference - first.wire };
  if (first.wire === second.wire) return undefined;
  const slope = (second.reference - first.reference) / (second.wire - first.wire);
  return { slope, offset: first.reference - slope * first.wire };
}

/** Beside a reference that can be trusted, in one or two places of the scale. */
export function LinearCalibration({ probe, changed }: { probe: ProbeDetail; changed: () => void }) {
  const [reference, setReference] = useState('');
  const [points, setPoints] = useState<LinearPoint[]>([]);
  const [hint, setHint] = useState('');
  const line = lineThrough(points);
  const isOdd = line !== undefined && !(line.slope >= usualSlope[0] && line.slope <= usualSlope[1]);

  /** Takes what is heard now; what it says is shown to the person. */
  function take(): string {
    const value = typedNumber(reference);
    if (value === undefined) return 'Type what the reference shows.';
    const point = takenFrom(probe, `${value} ${probe.unit} by the reference`.replace('  ', ' '));
    if (point === undefined) return 'The probe is silent: there is nothing to take.';
    if (points.length >= 2) return 'Two points make the line. Leave one out first.';
    setPoints([...points, { ...point, reference: value }]);
    setReference('');
    return point.isSteady ? '' : unsettled;
  }

  return (
    <>
      <section class="step" aria-labelledby="step-reference">
        <h3 id="step-reference">Beside a reference</h3>
        <p>
          Put the probe beside a reference that you trust and let both settle. One point moves the scale; a second one,
          far from the first, turns it as well.
        </p>
        <div class="fields">
          <label for="reference">
            The reference shows{probe.unit === '' ? '' : `, ${probe.unit}`}
            <input
              id="reference"
              inputMode="decimal"
              autocomplete="off"
              value={reference}
              onInput={(event) => setReference(event.currentTarget.value)}
            />
          </label>
        </div>
        <TakeValue probe={probe} take={() => setHint(take())} />
        {hint !== '' && <p role="alert">{hint}</p>}
      </section>
      <section class="step" aria-labelledby="step-taken">
        <h3 id="step-taken">Taken</h3>
        <TakenPoints points={points} remove={(index) => setPoints(points.filter((_, at) => at !== index))} />
        {line === undefined && points.length > 1 && <p>Both points are the same on the wire: they make no line.</p>}
        {line !== undefined && (
          <p>
            Slope {line.slope.toPrecision(4)}, offset {line.offset.toPrecision(3)} {probe.unit}.
          </p>
        )}
        {isOdd && (
          <p role="alert">A slope of {line?.slope.toPrecision(3)} is unusual: are both points and units right?</p>
        )}
      </section>
      <KeepCalibration
        probe={probe}
        entry={line === undefined ? undefined : { kind: 'linear', ...line }}
        kept={() => {
          setPoints([]);
          changed();
        }}
      />
    </>
  );
}
