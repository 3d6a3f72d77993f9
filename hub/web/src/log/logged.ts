import type { EntryAnswer } from '../../../api/entries.ts';
import type { SystemView } from '../../../api/room.ts';
import { wallOf } from '../corals/moments.ts';
import { pieceEventText } from '../corals/piece-event-text.ts';
import { signText } from '../kit/shown-number.ts';
import { inSentence } from '../kit/words.ts';
import type { EntryStart } from '../room/entry-form.tsx';
import { type CorrectedKind, dryName, tested } from '../room/entry-kinds.ts';
import { newWaterParts, typedWater } from '../room/new-water.tsx';
import { typedOfStore, unitOf } from '../room/read-unit.ts';

/** What people enter, in the order of the choice above the list. */
export const loggedKinds = [
  { kind: 'test', words: 'Tests' },
  { kind: 'dose', words: 'Doses' },
  { kind: 'water_change', words: 'Water changes' },
  { kind: 'plan', words: 'Dosing plans' },
  { kind: 'refill', words: 'Refills' },
  { kind: 'piece', words: 'Pieces' },
] as const;

export type LoggedKind = (typeof loggedKinds)[number]['kind'];

export type Logged = EntryAnswer<LoggedKind>;

const text = (value: string | number | undefined): string => (value === undefined ? '' : String(value));

/** A pump that gives a twelfth of a day says it to more places than anybody measures. */
const amountOf = (value: number | undefined): string =>
  value === undefined ? '' : String(Number(value.toPrecision(4)));

/** An entry as a person says it. @param pieceNames  what a piece is, by its id */
export function loggedWords(
  system: SystemView,
  { kind, body }: Logged,
  pieceNames: ReadonlyMap<string, string>,
): string {
  const nameOf = (id: string | undefined) => system.stocks.find((each) => each.id === id)?.name ?? text(id);
  switch (kind) {
    case 'test': {
      const { analyte, given_unit: unit, given_value } = body;
      const label = tested.find(({ id }) => id === analyte)?.label ?? analyte;
      const name = unit === 'sg' ? 'Specific gravity' : label;
      return `${name} ${signText(text(given_value))} ${unit === 'sg' ? '' : unit}`.trim();
    }
    case 'dose':
      return body.ml === undefined
        ? `${amountOf(body.grams)} g ${dryName(text(body.substance))}`
        : `${amountOf(body.ml)} mL ${nameOf(body.stock)}`;
    case 'water_change':
      return `Water change ${body.volume_l} L${newWaterWords(body)}`;
    case 'plan':
      if (body.configured === true) return `Plan of ${nameOf(body.stock)}: back to the configuration`;
      return `Plan of ${nameOf(body.stock)}: ${body.ml_per_day} mL a day`;
    case 'refill':
      return `${nameOf(body.stock)} refilled to ${text(body.ml)} mL`;
    case 'piece':
      return `${pieceNames.get(body.piece) ?? body.piece} ${pieceEventText(body.event, { ...body, note: undefined })}`;
  }
}

function newWaterWords(body: EntryAnswer<'water_change'>['body']): string {
  const known = newWaterParts.filter(({ name }) => body[name] !== undefined);
  const words = known.map(({ name, metric, label }) =>
    `${inSentence(label)} ${typedOfStore(metric, body[name] ?? 0)} ${unitOf(metric)}`.trim(),
  );
  return words.length === 0 ? '' : `, new water ${words.join(', ')}`;
}

/** How the form begins when this entry is corrected; undefined for what has no form. */
export function correctionOf(
  { id, kind, timeMs, body }: Logged,
  zone: string,
): { kind: CorrectedKind; start: EntryStart } | undefined {
  const start = { corrects: id, moment: { wall: wallOf(timeMs, zone), note: text(body.note) } };
  switch (kind) {
    case 'test': {
      const gravity = { scale: body.sg_scale ?? '25/25', water_C: text(body.water_temperature_c) };
      const [what, value, unit] = [body.analyte, text(body.given_value), body.given_unit];
      return { kind, start: { ...start, what, value, unit, gravity } };
    }
    case 'dose':
      if (body.stock === undefined)
        return { kind, start: { ...start, what: text(body.substance), value: text(body.grams) } };
      return { kind, start: { ...start, what: body.stock, value: text(body.ml) } };
    case 'plan': {
      // Back to the configuration is no number that could be another.
      if (body.configured === true) return undefined;
      const { stock, ml_per_day, times_per_day } = body;
      return { kind, start: { ...start, what: stock, value: text(ml_per_day), times: text(times_per_day) } };
    }
    case 'refill':
      return { kind, start: { ...start, what: body.stock, value: text(body.ml) } };
    case 'water_change': {
      return { kind, start: { ...start, what: 'water', value: text(body.volume_l), water: typedWater(body) } };
    }
    default:
      return undefined;
  }
}
