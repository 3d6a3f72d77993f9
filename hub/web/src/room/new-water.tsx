import { recall, remember } from '../kit/remembered.ts';

/** What the API calls it, what a person reads. */
const parts = [
  { name: 'alkalinity_dkh', label: 'Alkalinity, dKH' },
  { name: 'calcium_mg_l', label: 'Calcium, mg/L' },
  { name: 'magnesium_mg_l', label: 'Magnesium, mg/L' },
  { name: 'salinity', label: 'Salinity' },
] as const;

/** The new water as typed; an empty field is not known. */
export type NewWater = Partial<Record<(typeof parts)[number]['name'], string>>;

/** The new water of the last water change of a system on this device. */
export function recalledWater(system: string): NewWater {
  try {
    return JSON.parse(recall(`water.${system}`) ?? '{}') as NewWater;
  } catch {
    return {};
  }
}

export function rememberWater(system: string, water: NewWater): void {
  remember(`water.${system}`, JSON.stringify(water));
}

/** What the new water has, for the estimates: optional, and that of the last time until it is changed. */
export function NewWaterFields({ id, water, edit }: { id: string; water: NewWater; edit(water: NewWater): void }) {
  const known = parts.filter(({ name }) => (water[name] ?? '').trim() !== '');
  return (
    <details class="new-water">
      <summary>
        The new water:{' '}
        {known.length === 0 ? 'not known' : known.map(({ name, label }) => `${label} ${water[name]}`).join(' · ')}
      </summary>
      <div class="fields">
        {parts.map(({ name, label }) => (
          <label key={name} for={`${id}-${name}`}>
            {label}
            <input
              id={`${id}-${name}`}
              inputMode="decimal"
              autocomplete="off"
              value={water[name] ?? ''}
              onInput={(event) => edit({ ...water, [name]: event.currentTarget.value })}
            />
          </label>
        ))}
      </div>
    </details>
  );
}
