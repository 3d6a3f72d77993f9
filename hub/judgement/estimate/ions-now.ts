import type { Store } from '#adapters/ports/store.ts';
import { dayMs } from '#rules/clock/durations.ts';
import { type IonOutlook, type IonsOverMonths, ionsOverMonths } from '#rules/dosing/ions-over-months.ts';
import type { SubstanceId } from '#rules/dosing/substance.ts';
import type { SystemConfig } from '../../model/config/schema.ts';
import { stockStrength } from '../../model/config/stock-strength.ts';
import { ofKind } from '../../model/journal/journal.ts';
import { readEntries } from './known-entries.ts';
import { changedSharePerDay, changesLookedAtDays } from './months-ahead.ts';
import { planNow } from './standing-plan.ts';

/** A tank whose salinity nobody has tested: a reef's. @source common practice, no published source */
const usualSalinity = 35;
/** Within these the balance can be told. Chosen here. */
const told = { low: 20, high: 42 };

export type IonsNow = IonsOverMonths & { changedPerDay: number; text: string[]; notCounted: string[] };

/** What the plan and the doses by hand of the last months leave in a system's water, and which water changes hold it. */
export function ionsNow(store: Pick<Store, 'journal'>, system: SystemConfig, nowMs: number): IonsNow {
  const fromMs = nowMs - changesLookedAtDays * dayMs;
  const entries = readEntries(store, system.id, fromMs);
  const gramsPerDay: Partial<Record<SubstanceId, number>> = {};
  const notCounted = new Set<string>();
  const add = (id: string, mlPerDay: number): void => {
    const stock = system.stocks.find((each) => each.id === id);
    if (stock === undefined || mlPerDay <= 0) return;
    const strength = stockStrength(stock);
    // A reactor and lime water leave nothing but what corals take; of a bought solution nobody knows.
    if (strength.of === 'rises' || strength.gramsPerLitre === undefined) {
      if (stock.effluent === undefined) notCounted.add(stock.name);
      return;
    }
    gramsPerDay[strength.substance] =
      (gramsPerDay[strength.substance] ?? 0) + (mlPerDay * strength.gramsPerLitre) / 1000;
  };
  for (const { stock, mlPerDay } of planNow(system, entries, nowMs)) add(stock, mlPerDay);
  for (const { body } of ofKind(entries, 'dose').filter(({ timeMs }) => timeMs > fromMs && timeMs <= nowMs))
    if (body.stock !== undefined && body.ml !== undefined) add(body.stock, body.ml / changesLookedAtDays);
  const tested = ofKind(entries, 'test').findLast(({ body }) => body.analyte === 'salinity')?.body.value;
  const salinity = tested !== undefined && tested >= told.low && tested <= told.high ? tested : usualSalinity;
  const changedPerDay = Math.min(1, changedSharePerDay(system, entries, nowMs));
  const found = ionsOverMonths({ volumeL: system.volume_l, salinity, gramsPerDay, changedPerDay });
  return { ...found, changedPerDay, notCounted: [...notCounted], text: words(found, changedPerDay, [...notCounted]) };
}

function words(
  { ions, saltPerDay_mg_L, salinityPerMonth }: IonsOverMonths,
  changed: number,
  notCounted: string[],
): string[] {
  const text: string[] = [];
  if (saltPerDay_mg_L <= 0) text.push('The stocks of known composition leave no salt behind.');
  else {
    const off = ions
      .filter(({ mattersAfterDays }) => mattersAfterDays !== undefined)
      .sort((a, b) => a.mattersAfterDays! - b.mattersAfterDays!);
    text.push(
      `Dosing leaves ${saltPerDay_mg_L.toFixed(1)} mg of salt in each litre a day: salinity would rise by ${salinityPerMonth.toFixed(2)} a month. The fresh water that holds it down dilutes everything else.`,
    );
    text.push(`Water changes: ${(700 * changed).toFixed(1)} % a week over the last ${changesLookedAtDays} days.`);
    if (off.length === 0) text.push('Every major ion stays within a tenth of the sea.');
    for (const ion of off) text.push(ionWords(ion));
    const hold = Math.max(...ions.map(({ changeToHold }) => changeToHold));
    if (hold > changed)
      text.push(
        `Changing ${(700 * hold).toFixed(0)} % a week would hold all within a tenth, if the salt has the sea’s proportions; a laboratory’s table shows where you are.`,
      );
  }
  if (notCounted.length > 0)
    text.push(`Not counted, composition unknown: ${notCounted.join(', ')}. Ask the maker what it leaves behind.`);
  return text;
}

function ionWords({ ion, atRest, mattersAfterDays }: IonOutlook): string {
  const months = mattersAfterDays! / 30;
  const about = months < 1.5 ? 'in about a month' : `in ${months.toFixed(0)} months`;
  const when = months < 1 ? 'within a month' : about;
  const end = Number.isFinite(atRest) ? `, levels off at ${(100 * atRest).toFixed(0)} % of the sea` : '';
  return `${ion}: a tenth off ${when}${end}.`;
}
