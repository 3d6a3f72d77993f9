import type { AskedOf } from '../../../api/contract.ts';
import type { SettingsView } from '../../../api/settings.ts';

export type Change = (asked: NonNullable<AskedOf<'POST /api/settings'>['body']>, said: string) => Promise<void>;

const numberItself = 'its own number';

function unitName(metric: string, unit: string): string {
  if (unit === 'sg') return 'specific gravity 25/25';
  if (unit !== '') return unit;
  return metric === 'salinity' ? 'practical salinity' : numberItself;
}

/** In which unit a metric is read; the value of the file is named beside it. */
export function UnitChoice({ choice, change }: { choice: SettingsView['units'][number]; change: Change }) {
  const { metric, label, units, file, chosen } = choice;
  const id = `unit-${metric}`;
  const set = (unit: string | null) => {
    const shown = unitName(metric, unit ?? file);
    return change({ display_units: { [metric]: unit } }, `${label} is shown in ${shown}.`);
  };
  return (
    <li>
      <label for={id}>
        {label}
        <select id={id} value={chosen ?? file} onChange={(event) => void set(event.currentTarget.value)}>
          {units.map((unit) => (
            <option key={unit} value={unit}>
              {unitName(metric, unit)}
            </option>
          ))}
        </select>
      </label>
      {chosen !== null && (
        <button type="button" onClick={() => void set(null)}>
          Back to {unitName(metric, file)}
          <span class="visually-hidden">, {label}</span>
        </button>
      )}
    </li>
  );
}
