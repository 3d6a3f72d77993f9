import { handRhythmPerDay } from '#rules/dosing/hand-rhythm.ts';
import type { SystemConfig } from '../../model/config/schema.ts';
import { type NewEntry, ofKind } from '../../model/journal/journal.ts';
import { type Rises, risesFromGrams, risesFromStock } from './dose-rise.ts';

/** One thing that is given by hand like a plan: a stock in mL, or a substance weighed in g. */
export type HandRhythm = { stock?: string; substance?: string; perDay: number; rises: Rises };

/**
 * What is logged as doses so regularly that it goes on, with what a day of it raises.
 *
 * @param entries  of the system, any kind, any order
 */
export function handRhythms(system: SystemConfig, entries: readonly NewEntry[], nowMs: number): HandRhythm[] {
  const byThing = new Map<string, { timeMs: number; amount: number }[]>();
  for (const { timeMs, body } of ofKind(entries, 'dose')) {
    if (timeMs > nowMs) continue;
    const { stock, ml, substance, grams } = body;
    if (stock !== undefined && ml !== undefined) add(byThing, `stock ${stock}`, timeMs, ml);
    else if (substance !== undefined && grams !== undefined) add(byThing, `substance ${substance}`, timeMs, grams);
  }
  return [...byThing].flatMap(([thing, doses]): HandRhythm[] => {
    const perDay = handRhythmPerDay(doses, nowMs);
    if (perDay <= 0) return [];
    const [of, name] = [thing.slice(0, thing.indexOf(' ')), thing.slice(thing.indexOf(' ') + 1)];
    if (of === 'substance') return [{ substance: name, perDay, rises: risesFromGrams(name, perDay, system.volume_l) }];
    const stock = system.stocks.find(({ id }) => id === name);
    return stock === undefined ? [] : [{ stock: name, perDay, rises: risesFromStock(stock, perDay, system.volume_l) }];
  });
}

function add(
  byThing: Map<string, { timeMs: number; amount: number }[]>,
  thing: string,
  timeMs: number,
  amount: number,
): void {
  const doses = byThing.get(thing) ?? [];
  if (doses.length === 0) byThing.set(thing, doses);
  doses.push({ timeMs, amount });
}
