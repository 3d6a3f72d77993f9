import { useState } from 'preact/hooks';
import { numberIn } from '../kit/number-in.ts';
import { recall, remember } from '../kit/remembered.ts';
import { typedInStore, typedOfStore, withUnit } from './read-unit.ts';
import { inUnitsOfNow, type TypedAs, typedIn } from './typed-units.ts';

/** What the API calls it, the metric in whose unit it is typed, what a person reads. */
export const newWaterParts = [
  { name: 'alkalinity_dkh', metric: 'alkalinity', label: 'Alkalinity' },
  { name: 'calcium_mg_l', metric: 'calcium', label: 'Calcium' },
  { name: 'magnesium_mg_l', metric: 'magnesium', label: 'Magnesium' },
  { name: 'salinity', metric: 'salinity', label: 'Salinity' },
] as const;

type Part = (typeof newWaterParts)[number]['name'];

/** The new water as typed, in the keeper's units; an empty field is not known. */
export type NewWater = Partial<Record<Part, string>>;

/** What is known of new water, in the store's units. */
export type StoredWater = Partial<Record<Part, number | undefined>>;

export function typedWater(water: StoredWater): NewWater {
  const typed = newWaterParts.flatMap(({ name, metric }) => {
    const value = water[name];
    return value === undefined ? [] : [[name, typedOfStore(metric, value)]];
  });
  return Object.fromEntries(typed) as NewWater;
}

/** @returns undefined when a field holds what is not a number */
export function storedWater(water: NewWater): StoredWater | undefined {
  const known = newWaterParts.filter(({ name }) => (water[name] ?? '').trim() !== '');
  const stored = known.map(({ name, metric }) => {
    const typed = numberIn(water[name] ?? '');
    return [name, typed === undefined ? undefined : typedInStore(metric, typed)] as const;
  });
  return stored.some(([, value]) => value === undefined) ? undefined : (Object.fromEntries(stored) as StoredWater);
}

const typedAs: TypedAs = (field) => newWaterParts.find(({ name }) => name === field)?.metric;

/** The new water in a form: what was typed goes over into another unit with the keeper. */
export function useNewWater(initial: () => NewWater): [NewWater, (water: NewWater) => void] {
  const keep = (water: NewWater) => ({ water, typed: typedIn(water as Record<string, string>, typedAs) });
  const [kept, setKept] = useState(() => keep(initial()));
  const water = inUnitsOfNow(kept.water as Record<string, string>, kept.typed, typedAs);
  return [water, (next) => setKept(keep(next))];
}

const memoryOf = (system: string) => `water.${system}`;

/** The new water of the last water change of a system on this device: kept in the store's units, which do not change. */
export function recalledWater(system: string): NewWater {
  try {
    const kept = JSON.parse(recall(memoryOf(system)) ?? '{}') as Record<string, unknown>;
    const numbers = Object.entries(kept).filter(([, value]) => value !== '' && Number.isFinite(Number(value)));
    return typedWater(Object.fromEntries(numbers.map(([name, value]) => [name, Number(value)])));
  } catch {
    return {};
  }
}

export function rememberWater(system: string, water: NewWater): void {
  remember(memoryOf(system), JSON.stringify(storedWater(water) ?? {}));
}

/** What the new water has, for the estimates: optional, and that of the last time until it is changed. */
export function NewWaterFields({ id, water, edit }: { id: string; water: NewWater; edit(water: NewWater): void }) {
  const known = newWaterParts.filter(({ name }) => (water[name] ?? '').trim() !== '');
  return (
    <details class="new-water">
      <summary>
        The new water:{' '}
        {known.length === 0
          ? 'not known'
          : known.map(({ name, metric, label }) => `${withUnit(label, metric)} ${water[name]}`).join(' · ')}
      </summary>
      <div class="fields">
        {newWaterParts.map(({ name, metric, label }) => (
          <label key={name} for={`${id}-${name}`}>
            {withUnit(label, metric)}
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
