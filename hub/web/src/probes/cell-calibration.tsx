import { useState } from 'preact/hooks';
import { hourMs } from '#rules/clock/durations.ts';
import type { ProbeDetail, StandardsView } from '../../../api/probes.ts';
import { useAnswer } from '../kit/use-answer.ts';
import { CalibrationSteps } from './calibration-steps.tsx';
import type { Findings } from './keep-calibration.tsx';
import { NumberField, type Point, takenFrom, unsettled } from './taken-points.tsx';
import { typedNumber } from './typed-number.ts';

type Standard = StandardsView['conductivity'][number]['id'];

const seawater = 'seawater';
const rareMs = hourMs;

const standardNames: Record<Standard, string> = {
  'kcl_12.88mS': '12.88 mS/cm (KCl)',
  kcl_1413uS: '1413 µS/cm (KCl)',
  kcl_84uS: '84 µS/cm (KCl)',
  kcl_1_demal: '111.3 mS/cm (KCl 1 D)',
  'kcl_0.1_demal': '12.85 mS/cm (KCl 0.1 D)',
  'kcl_0.01_demal': '1.408 mS/cm (KCl 0.01 D)',
  'kcl_0.001_demal': '0.147 mS/cm (KCl 0.001 D)',
  kcl_1_molal: '108.6 mS/cm (KCl 1 mol/kg)',
  'kcl_0.1_molal': '12.82 mS/cm (KCl 0.1 mol/kg)',
  'kcl_0.01_molal': '1.408 mS/cm (KCl 0.01 mol/kg)',
};

type CellPoint = Point & {
  standard: Extract<Findings, { kind: 'cell' }>['standard'];
  temperature_C: number;
};

/** One standard, at its own temperature, gives the factor of the cell. */
export function CellCalibration({ probe, changed }: { probe: ProbeDetail; changed: () => void }) {
  const [standard, setStandard] = useState<Standard | typeof seawater>(seawater);
  const [salinity, setSalinity] = useState('35');
  const [temperature, setTemperature] = useState('25');
  const [points, setPoints] = useState<CellPoint[]>([]);
  const temperature_C = typedNumber(temperature);
  const typedSalinity = typedNumber(salinity);
  const asked = { query: { temperature_C: temperature_C ?? 25, salinity: typedSalinity ?? 35 } };
  const { answer: known } = useAnswer('GET /api/calibration-standards', asked, rareMs);
  const isFresh =
    known?.temperature_C === temperature_C && (standard !== seawater || known?.seawater.salinity === typedSalinity);
  const found =
    standard === seawater ? known?.seawater.mS_cm : known?.conductivity.find(({ id }) => id === standard)?.mS_cm;
  const mS_cm = isFresh ? (found ?? undefined) : undefined;

  function take(): string {
    if (temperature_C === undefined || mS_cm === undefined)
      return 'The value of this standard at this temperature is not known.';
    const point = takenFrom(probe, `${mS_cm.toFixed(3)} mS/cm at ${temperature_C} °C`);
    if (point === undefined) return 'No signal from the probe: nothing to take.';
    const given = standard === seawater ? { seawater_salinity: typedSalinity ?? 35 } : { kcl: standard };
    setPoints([{ ...point, temperature_C, standard: given }]);
    return point.isSteady ? '' : unsettled;
  }

  const [point] = points;
  const entry: Findings | undefined =
    point === undefined
      ? undefined
      : {
          kind: 'cell',
          standard: point.standard,
          shown_mS_cm: point.wire,
          standard_temperature_C: point.temperature_C,
        };

  return (
    <CalibrationSteps
      title="Into a standard"
      leave={() => setPoints([])}
      probe={probe}
      take={take}
      points={points}
      entry={entry}
      changed={changed}
    >
      <p>
        Rinse with pure water, then with some of the standard; shake off every bubble. Choose a standard near what the
        water is: seawater of known salinity is nearest. Measure the temperature in the standard itself.
      </p>
      <div class="fields">
        <label for="standard">
          Standard
          <select
            id="standard"
            value={standard}
            onChange={(event) => setStandard(event.currentTarget.value as typeof standard)}
          >
            <option value={seawater}>53.0 mS/cm (seawater of 35)</option>
            {Object.entries(standardNames).map(([id, name]) => (
              <option key={id} value={id}>
                {name}
              </option>
            ))}
          </select>
        </label>
        {standard === seawater && (
          <NumberField id="standard-salinity" label="Its salinity" value={salinity} edit={setSalinity} />
        )}
        <NumberField id="standard-temperature" label="Its temperature, °C" value={temperature} edit={setTemperature} />
      </div>
      <p data-standard={mS_cm?.toFixed(3)}>
        {mS_cm === undefined
          ? 'Its value at this temperature is not known.'
          : `At ${temperature_C} °C it is ${mS_cm.toFixed(3)} mS/cm.`}
        {probe.compensation !== null && ' This probe shows values referred to 25 °C; that is allowed for.'}
      </p>
    </CalibrationSteps>
  );
}
