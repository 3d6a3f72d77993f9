import type { KeptEntry } from '#adapters/ports/store.ts';
import type { SystemView } from '../../../api/room.ts';
import { wallOf } from '../corals/moments.ts';
import { signText } from '../kit/shown-number.ts';
import { inSentence } from '../kit/words.ts';
import type { EntryStart } from '../room/entry-form.tsx';
import { type EntryKind, tested } from '../room/entry-kinds.ts';

/** What people enter, in the order of the choice above the list. */
export const loggedKinds = [
  { kind: 'test', words: 'Tests' },
  { kind: 'dose', words: 'Doses' },
  { kind: 'water_change', words: 'Water changes' },
  { kind: 'plan', words: 'Dosing plans' },
  { kind: 'refill', words: 'Refills' },
] as const;

export type LoggedKind = (typeof loggedKinds)[number]['kind'];

const text = (value: unknown): string => (typeof value === 'string' || typeof value === 'number' ? String(value) : '');
const stockName = (system: SystemView, id: unknown) => system.stocks.find((each) => each.id === id)?.name ?? text(id);

/** An entry as a person says it. */
export function loggedWords(system: SystemView, { kind, body }: KeptEntry): string {
  const stock = stockName(system, body['stock']);
  switch (kind) {
    case 'test': {
      const label = tested.find(({ id }) => id === body['analyte'])?.label ?? text(body['analyte']);
      const unit = text(body['given_unit']);
      const name = unit === 'sg' ? 'Specific gravity' : label;
      return `${name} ${signText(text(body['given_value']))} ${unit === 'sg' ? '' : unit}`.trim();
    }
    case 'dose':
      return body['ml'] === undefined
        ? `${text(body['grams'])} g ${text(body['substance']).replaceAll('_', ' ')}`
        : `${text(body['ml'])} mL ${stock}`;
    case 'water_change':
      return `Water change ${text(body['volume_l'])} L${newWaterWords(body)}`;
    case 'plan':
      if (body['configured'] === true) return `Plan of ${stock}: back to the configuration`;
      return `Plan of ${stock}: ${text(body['ml_per_day'])} mL a day`;
    default:
      return `${stock} refilled to ${text(body['ml'])} mL`;
  }
}

const newWater = [
  ['alkalinity_dkh', 'alkalinity', ' dKH'],
  ['calcium_mg_l', 'calcium', ' mg/L'],
  ['magnesium_mg_l', 'magnesium', ' mg/L'],
  ['salinity', 'salinity', ''],
] as const;

function newWaterWords(body: Record<string, unknown>): string {
  const known = newWater.filter(([field]) => typeof body[field] === 'number');
  return known.length === 0
    ? ''
    : `, new water ${known.map(([field, name, unit]) => `${inSentence(name)} ${text(body[field])}${unit}`).join(', ')}`;
}

/** How the form begins when this entry is corrected; undefined for what has no form. */
export function correctionOf(
  { id, kind, timeMs, body }: KeptEntry,
  zone: string,
): { kind: EntryKind; start: EntryStart } | undefined {
  const start = { corrects: id, moment: { wall: wallOf(timeMs, zone), note: text(body['note']) } };
  if (kind === 'test') {
    const gravity = { scale: text(body['sg_scale']) || '25/25', water_C: text(body['water_temperature_c']) };
    const [what, value, unit] = [text(body['analyte']), text(body['given_value']), text(body['given_unit'])];
    return { kind, start: { ...start, what, value, unit, gravity } };
  }
  if (kind === 'dose' && body['stock'] !== undefined)
    return { kind, start: { ...start, what: text(body['stock']), value: text(body['ml']) } };
  if (kind !== 'water_change') return undefined;
  const water = Object.fromEntries(newWater.map(([field]) => [field, text(body[field])]));
  return { kind, start: { ...start, what: 'water', value: text(body['volume_l']), water } };
}
