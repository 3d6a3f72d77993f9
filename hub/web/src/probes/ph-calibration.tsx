import { useState } from 'preact/hooks';
import type { ProbeDetail, StandardsView } from '../../../http/routes-probes.ts';
import { useHub } from './hub-answers.ts';
import { KeepCalibration } from './keep-calibration.tsx';
import { type Point, TakenPoints, TakeValue, takenFrom, unsettled } from './taken-points.tsx';
import { typedNumber } from './typed-number.ts';

const bottle = 'bottle';
const rareMs = 3_600_000;
const mostPoints = 3;

const bufferNames: Record<string, string> = {
  phosphate_equimolal: 'Phosphate, equimolal',
  borax: 'Borax',
  carbonate: 'Carbonate',
  phthalate_iupac: 'Phthalate',
  phthalate_hetzer1977: 'Phthalate, by Hetzer 1977',
};

type PhPoint = Point & { given: { buffer: string } | { ph: number }; temperature_C: number };

/** One to three buffers, each with its own temperature; two or more tell the slope. */
export function PhCalibration({ probe, changed }: { probe: ProbeDetail; changed: () => void }) {
  const [buffer, setBuffer] = useState('phosphate_equimolal');
  const [onBottle, setOnBottle] = useState('7.00');
  const [temperature, setTemperature] = useState('25');
  const [points, setPoints] = useState<PhPoint[]>([]);
  const [hint, setHint] = useState('');
  const temperature_C = typedNumber(temperature);
  const standards = useHub<StandardsView>(`calibration-standards?temperature_C=${temperature_C ?? 25}`, rareMs);
  const known = standards.document?.temperature_C === temperature_C ? standards.document?.buffers : undefined;
  const ph = buffer === bottle ? typedNumber(onBottle) : (known?.find(({ id }) => id === buffer)?.ph ?? undefined);

  /** Takes what is heard now; what it says is shown to the person. */
  function take(): string {
    if (temperature_C === undefined) return 'Type the temperature of the buffer.';
    if (ph === undefined) return 'The pH of this buffer at this temperature is not known.';
    const point = takenFrom(probe, `pH ${ph.toFixed(buffer === bottle ? 2 : 3)} at ${temperature_C} °C`);
    if (point === undefined) return 'The probe is silent: there is nothing to take.';
    if (points.length >= mostPoints) return 'Three buffers are the most. Leave one out first.';
    setPoints([...points, { ...point, temperature_C, given: buffer === bottle ? { ph } : { buffer } }]);
    return point.isSteady ? '' : unsettled;
  }

  const entry =
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
    <>
      <section class="step" aria-labelledby="step-buffer">
        <h3 id="step-buffer">Into a buffer</h3>
        <p>
          Rinse with pure water, dab dry, put it in and wait. A second buffer on the other side of pH 7 tells the slope.
        </p>
        <div class="fields">
          <label for="buffer">
            Buffer
            <select id="buffer" value={buffer} onChange={(event) => setBuffer(event.currentTarget.value)}>
              {Object.entries(bufferNames).map(([id, name]) => {
                const here = known?.find((each) => each.id === id)?.ph;
                return (
                  <option key={id} value={id}>
                    {name}
                    {here == null ? '' : ` ${here.toFixed(2)}`}
                  </option>
                );
              })}
              <option value={bottle}>As on the bottle</option>
            </select>
          </label>
          {buffer === bottle && (
            <label for="bottle-ph">
              pH on the bottle
              <input
                id="bottle-ph"
                inputMode="decimal"
                autocomplete="off"
                value={onBottle}
                onInput={(event) => setOnBottle(event.currentTarget.value)}
              />
            </label>
          )}
          <label for="buffer-temperature">
            Buffer temperature, °C
            <input
              id="buffer-temperature"
              inputMode="decimal"
              autocomplete="off"
              value={temperature}
              onInput={(event) => setTemperature(event.currentTarget.value)}
            />
          </label>
        </div>
        <p data-buffer-ph={ph?.toFixed(3)}>
          {ph === undefined
            ? 'Its pH at this temperature is not known.'
            : buffer === bottle
              ? 'For this very temperature, as the bottle says.'
              : `At ${temperature_C} °C it is pH ${ph.toFixed(3)} (IUPAC/NIST primary buffer).`}
        </p>
        <TakeValue probe={probe} take={() => setHint(take())} />
        {hint !== '' && <p role="alert">{hint}</p>}
      </section>
      <section class="step" aria-labelledby="step-taken">
        <h3 id="step-taken">Taken</h3>
        <TakenPoints points={points} remove={(index) => setPoints(points.filter((_, at) => at !== index))} />
      </section>
      <KeepCalibration
        probe={probe}
        entry={entry}
        kept={() => {
          setPoints([]);
          changed();
        }}
      />
    </>
  );
}
