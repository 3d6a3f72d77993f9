import { dayMs } from '#rules/clock/durations.ts';
import type { AdviceInput, AdviceProduct, AdviceStock } from '#rules/dosing/advice-types.ts';
import { substances } from '#rules/dosing/substances.ts';
import { defined } from '#rules/plain-data/defined.ts';
import type { DemandAnalyte } from '#rules/trend/demand-facts.ts';
import type { SystemConfig } from '../../model/config/schema.ts';
import { mostMlPerDayPer100L, stockStrength } from '../../model/config/stock-strength.ts';
import { spansOf, systemAt } from '../../model/config/system-at.ts';
import { type NewEntry, ofKind } from '../../model/journal/journal.ts';
import { containersOf } from './containers.ts';
import { risesFromStock, risesOfDose } from './dose-rise.ts';
import { type HandRhythm, handRhythms } from './hand-rhythms.ts';
import { newWaterLevel } from './new-water.ts';
import { planNow, planSegments } from './standing-plan.ts';

type Stock = SystemConfig['stocks'][number];

/** What is given of an analyte: by which stocks, on which plan, and in the day that was. */
export type Given = Required<Pick<AdviceInput, 'stocks' | 'otherRisePerDay' | 'given' | 'planned'>>;

/**
 * @param entries  of the system, any kind, oldest first within each
 * @param level  of the analyte now, where it is known: what a water change raised it by follows from it
 */
export function stocksGiven(
  system: SystemConfig,
  analyte: DemandAnalyte,
  entries: readonly NewEntry[],
  level: number | undefined,
  nowMs: number,
): Given {
  const rhythms = handRhythms(system, entries, nowMs);
  const plans = planNow(system, entries, nowMs);
  const containers = containersOf(system, entries, nowMs);
  const isOf = (stock: Stock, rhythm: HandRhythm): boolean =>
    rhythm.stock === stock.id || (rhythm.substance === stock.substance && stock.grams_per_litre === undefined);
  const raising = system.stocks.filter((stock) => raisesAnalyte(stock, analyte));
  const stocks = raising.map((stock): AdviceStock => {
    const plan = plans.find((each) => each.stock === stock.id);
    const leftMl = containers.find((each) => each.stock === stock.id)?.leftMl;
    return {
      product: productOf(stock, analyte, plan?.timesPerDay, system.volume_l),
      planPerDay: plan?.mlPerDay ?? 0,
      byHandPerDay: rhythms.filter((rhythm) => isOf(stock, rhythm)).reduce((sum, { perDay }) => sum + perDay, 0),
      ...(leftMl === undefined ? {} : { isEmpty: leftMl <= 0 }),
    };
  });
  const others = rhythms.filter((rhythm) => !raising.some((stock) => isOf(stock, rhythm)));
  const rhythmRise = rhythms.reduce((sum, { rises }) => sum + (rises[analyte] ?? 0), 0);
  return {
    stocks,
    otherRisePerDay: others.reduce((sum, { rises }) => sum + (rises[analyte] ?? 0), 0),
    given: givenOf(system, analyte, entries, rhythmRise, level, nowMs),
    planned: [
      ...planSegments(system, entries, nowMs).flatMap((segment) => {
        const fromMs = Math.max(nowMs - dayMs, segment.fromMs);
        if (segment.toMs <= fromMs) return [];
        return spansOf(system, fromMs, segment.toMs).flatMap((span) => {
          const risePerDay = riseOf(span.system, segment.stock, segment.mlPerDay, analyte);
          return risePerDay > 0 ? [{ fromMs: span.fromMs, toMs: span.toMs, risePerDay }] : [];
        });
      }),
      ...(rhythmRise > 0 ? [{ fromMs: nowMs - dayMs, toMs: nowMs, risePerDay: rhythmRise }] : []),
    ],
  };
}

function raisesAnalyte(stock: Stock, analyte: DemandAnalyte): boolean {
  const strength = stockStrength(stock);
  if (strength.of === 'rises') return (strength.raises100LByPerMl[analyte] ?? 0) > 0;
  const substance = substances[strength.substance];
  return analyte === 'alkalinity' ? substance.alkalinity_eq_mol > 0 : (substance.moles[analyte] ?? 0) > 0;
}

function productOf(
  stock: Stock,
  analyte: DemandAnalyte,
  timesPerDay: number | undefined,
  volumeL: number,
): AdviceProduct {
  const strength = stockStrength(stock);
  const most = mostMlPerDayPer100L(stock, volumeL);
  const made: AdviceProduct['made'] =
    strength.of === 'rises'
      ? {
          of: 'own_strength',
          raises: analyte,
          raises100LByPerMl: strength.raises100LByPerMl[analyte] ?? 0,
          all100LByPerMl: strength.raises100LByPerMl,
          ...defined({ addition: strength.addition, effluent: effluentOf(stock) }),
        }
      : {
          of: strength.substance,
          ...defined({ gramsPerLitre: strength.gramsPerLitre, isSaturated: strength.isSaturated }),
        };
  return {
    id: stock.id,
    name: stock.name,
    made,
    ...defined({ mostMlPerDayPer100L: most, timesPerDay }),
  };
}

function effluentOf({ effluent }: Stock): Extract<AdviceProduct['made'], { of: 'own_strength' }>['effluent'] {
  if (effluent === undefined) return undefined;
  const { alkalinity_dkh, tank_alkalinity_dkh, ph } = effluent;
  return { alkalinity_dKH: alkalinity_dkh, tankAlkalinity_dKH: tank_alkalinity_dkh, ...defined({ phNbs: ph }) };
}

function riseOf(system: SystemConfig, stockId: string, ml: number, analyte: DemandAnalyte): number {
  const stock = system.stocks.find((each) => each.id === stockId);
  return stock === undefined ? 0 : (risesFromStock(stock, ml, system.volume_l)[analyte] ?? 0);
}

/**
 * Single doses and water changes of the last day that raised the level. What a rhythm gives in a day is counted as the rhythm and taken
 * off here, the oldest doses first.
 */
function givenOf(
  system: SystemConfig,
  analyte: DemandAnalyte,
  entries: readonly NewEntry[],
  rhythmRise: number,
  level: number | undefined,
  nowMs: number,
): { timeMs: number; rise: number }[] {
  let ofRhythm = rhythmRise;
  const doses = ofKind(entries, 'dose')
    .filter(({ timeMs }) => timeMs > nowMs - dayMs && timeMs <= nowMs)
    .map(({ timeMs, body }) => ({ timeMs, rise: risesOfDose(systemAt(system, timeMs), body)[analyte] ?? 0 }))
    .filter(({ rise }) => rise > 0)
    .map(({ timeMs, rise }) => {
      const taken = Math.min(rise, ofRhythm);
      ofRhythm -= taken;
      return { timeMs, rise: rise - taken };
    });
  const changes = ofKind(entries, 'water_change').flatMap(({ timeMs, body }) => {
    const newLevel = newWaterLevel(body, analyte);
    if (timeMs <= nowMs - dayMs || timeMs > nowMs) return [];
    if (newLevel === undefined || level === undefined) return [];
    const share = Math.min(0.95, body.volume_l / systemAt(system, timeMs).volume_l);
    // The level of now is after the change: before it, it was (level − share × new) / (1 − share).
    return [{ timeMs, rise: (share * (newLevel - level)) / (1 - share) }];
  });
  return [...doses, ...changes].filter(({ rise }) => rise > 1e-9).sort((a, b) => a.timeMs - b.timeMs);
}
