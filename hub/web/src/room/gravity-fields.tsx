import { numberIn } from '../kit/number-in.ts';

/** What a specific gravity needs known beside its number, as typed. */
export type Gravity = { scale: string; water_C: string };

const scales = [
  { id: '25/25', words: '25/25 °C' },
  { id: '20/20', words: '20/20 °C' },
  { id: '60F/60F', words: '60/60 °F' },
] as const;

export const usualGravity: Gravity = { scale: '25/25', water_C: '' };

/** For the entry; undefined while the temperature is not a number. */
export function gravityOf({ scale, water_C }: Gravity): Record<string, string | number> | undefined {
  if (water_C.trim() === '') return { sg_scale: scale };
  const temperature = numberIn(water_C);
  return temperature === undefined ? undefined : { sg_scale: scale, water_temperature_c: temperature };
}

/** The two temperatures without which a specific gravity means nothing: those on the scale, and that of the water. */
export function GravityFields({ id, gravity, edit }: { id: string; gravity: Gravity; edit(gravity: Gravity): void }) {
  return (
    <div class="fields">
      <label for={`${id}-scale`}>
        Scale, as printed on it
        <select
          id={`${id}-scale`}
          value={gravity.scale}
          onChange={(event) => edit({ ...gravity, scale: event.currentTarget.value })}
        >
          {scales.map((each) => (
            <option key={each.id} value={each.id}>
              {each.words}
            </option>
          ))}
        </select>
      </label>
      <label for={`${id}-water`}>
        Water, °C (glass hydrometer)
        <input
          id={`${id}-water`}
          inputMode="decimal"
          autocomplete="off"
          placeholder="corrected already"
          value={gravity.water_C}
          onInput={(event) => edit({ ...gravity, water_C: event.currentTarget.value })}
        />
      </label>
    </div>
  );
}
