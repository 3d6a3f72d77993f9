import { useState } from 'preact/hooks';
import type { ProbeDetail } from '../../../api/probes.ts';
import { CalibrationSteps } from './calibration-steps.tsx';
import { NumberField, type Point, takenFrom, unsettled, without } from './taken-points.tsx';
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
  const line = lineThrough(points);
  const isOdd = line !== undefined && !(line.slope >= usualSlope[0] && line.slope <= usualSlope[1]);

  function take(): string {
    const value = typedNumber(reference);
    if (value === undefined) return 'Enter what the reference shows.';
    const point = takenFrom(probe, `${value} ${probe.unit} by the reference`.replace('  ', ' '));
    if (point === undefined) return 'No signal from the probe: nothing to take.';
    if (points.length >= 2) return 'Two points make the line. Leave one out first.';
    setPoints([...points, { ...point, reference: value }]);
    setReference('');
    return point.isSteady ? '' : unsettled;
  }

  const told = (
    <>
      {line === undefined && points.length > 1 && <p>Both points read the same: they make no line.</p>}
      {line !== undefined && (
        <p>
          Slope {line.slope.toPrecision(4)}, offset {line.offset.toPrecision(3)} {probe.unit}.
        </p>
      )}
      {isOdd && (
        <p role="alert">A slope of {line?.slope.toPrecision(3)} is unusual: are both points and units right?</p>
      )}
    </>
  );
  return (
    <CalibrationSteps
      title="Beside a reference"
      leave={(index) => setPoints(without(points, index))}
      entry={line === undefined ? undefined : { kind: 'linear', ...line }}
      probe={probe}
      take={take}
      points={points}
      told={told}
      changed={changed}
    >
      <p>
        Put the probe beside a reference that you trust and let both settle. One point moves the scale; a second one,
        far from the first, turns it as well.
      </p>
      <div class="fields">
        <NumberField
          id="reference"
          label={`The reference shows${probe.unit === '' ? '' : `, ${probe.unit}`}`}
          value={reference}
          edit={setReference}
        />
      </div>
    </CalibrationSteps>
  );
}
