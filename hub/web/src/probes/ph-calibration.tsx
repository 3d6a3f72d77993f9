import { useState } from 'preact/hooks';
import { hourMs } from '#rules/clock/durations.ts';
import type { ProbeDetail, StandardsView } from '../../../api/probes.ts';
import { useAnswer } from '../kit/use-answer.ts';
import { CalibrationSteps } from './calibration-steps.tsx';
import type { Findings } from './keep-calibration.tsx';
import { NumberField, type Point, takenFrom, unsettled, without } from './taken-points.tsx';
import { typedNumber } from './typed-number.ts';

type Buffer = StandardsView['buffers'][number]['id'];

const bottle = 'bottle';
const rareMs = hourMs;
const mostPoints = 3;

const bufferNames: Record<Buffer, string> = {
  phosphate_equimolal: 'pH 6.87 (phosphate)',
  borax: 'pH 9.18 (borax)',
  carbonate: 'pH 10.01 (carbonate)',
  phthalate_iupac: 'pH 4.01 (phthalate)',
  phthalate_hetzer1977: 'pH 4.01 (phthalate, Hetzer 1977)',
};

type PhPoint = Point & { given: { buffer: Buffer } | { ph: number }; temperature_C: number };

/** One to three buffers, each with its own temperature; two or more tell the slope. */
export function PhCalibration({ probe, changed }: { probe: ProbeDetail; changed: () => void }) {
  const [buffer, setBuffer] = useState<Buffer | typeof bottle>('phosphate_equimolal');
  const [onBottle, setOnBottle] = useState('7.00');
  const [temperature, setTemperature] = useState('25');
  const [points, setPoints] = useState<PhPoint[]>([]);
  const temperature_C = typedNumber(temperature);
  const asked = { query: { temperature_C: temperature_C ?? 25 } };
  const { answer } = useAnswer('GET /api/calibration-standards', asked, rareMs);
  const known = answer?.temperature_C === temperature_C ? answer?.buffers : undefined;
  const ph = buffer === bottle ? typedNumber(onBottle) : (known?.find(({ id }) => id === buffer)?.ph ?? undefined);

  function take(): string {
    if (temperature_C === undefined) return 'Enter the temperature of the buffer.';
    if (ph === undefined) return 'The pH of this buffer at this temperature is not known.';
    const point = takenFrom(probe, `pH ${ph.toFixed(buffer === bottle ? 2 : 3)} at ${temperature_C} °C`);
    if (point === undefined) return 'No signal from the probe: nothing to take.';
    if (points.length >= mostPoints) return 'Three buffers are the most. Leave one out first.';
    setPoints([...points, { ...point, temperature_C, given: buffer === bottle ? { ph } : { buffer } }]);
    return point.isSteady ? '' : unsettled;
  }

  const entry: Findings | undefined =
    points.length === 0
      ? undefined
      : {
          kind: 'ph',
          buffers: points.map(({ wire, given, temperature_C: at_C }) => ({
            ...given,
            ...(probe.signal === 'mV' ? { potential_mV: wire } : { shown_ph: wire }),
            temperature_C: at_C,
          })),
        };

  return (
    <CalibrationSteps
      title="Into a buffer"
      leave={(index) => setPoints(without(points, index))}
      probe={probe}
      take={take}
      points={points}
      entry={entry}
      changed={changed}
    >
      <p>
        Rinse with pure water, dab dry, put it in and wait. A second buffer on the other side of pH 7 gives the slope.
      </p>
      <div class="fields">
        <label for="buffer">
          Buffer
          <select
            id="buffer"
            value={buffer}
            onChange={(event) => setBuffer(event.currentTarget.value as typeof buffer)}
          >
            {Object.entries(bufferNames).map(([id, name]) => {
              const here = known?.find((each) => each.id === id)?.ph;
              return (
                <option key={id} value={id}>
                  {name}
                  {here == null || name.includes(here.toFixed(2)) ? '' : `: ${here.toFixed(2)}`}
                </option>
              );
            })}
            <option value={bottle}>As on the bottle</option>
          </select>
        </label>
        {buffer === bottle && (
          <NumberField id="bottle-ph" label="pH on the bottle" value={onBottle} edit={setOnBottle} />
        )}
        <NumberField id="buffer-temperature" label="Buffer temperature, °C" value={temperature} edit={setTemperature} />
      </div>
      <p data-buffer-ph={ph?.toFixed(3)}>
        {ph === undefined
          ? 'Its pH at this temperature is not known.'
          : buffer === bottle
            ? 'For this temperature, from the bottle.'
            : `At ${temperature_C} °C it is pH ${ph.toFixed(3)} (IUPAC/NIST primary buffer).`}
      </p>
    </CalibrationSteps>
  );
}
