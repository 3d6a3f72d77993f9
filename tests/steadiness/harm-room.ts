import { configSchema } from '#hub/model/config/schema.ts';
import { Refused } from '#hub/model/refusals/refused.ts';
import type { Answer } from '#hub/reports/advise/answer.ts';
import { openDiary } from '#hub/reports/advise/diary.ts';
import { riseFromDose } from '#rules/dosing/stoichiometry.ts';
import { substances } from '#rules/dosing/substances.ts';
import { carbonateFromAlkalinityAndDic, carbonateFromAlkalinityAndPh } from '#rules/seawater/carbonate-system.ts';
import { convertPh } from '#rules/seawater/ph-scale.ts';
import { seededRandom } from '../rules/trend/seeded-random.ts';
import { hourMs, startMs } from './live-room.ts';

/** What goes wrong in the room, from a day on. Invented; each has been seen by keepers (common practice, no published source). */
export const faults = [
  'none',
  'dry_container',
  'stuck_pump',
  'doubled_pump',
  'wrong_bottle',
  'volume_wrong',
  'drifted_ph',
  'wrong_unit',
  'missed_logs',
  'logged_twice',
  'clock',
] as const;
export type Fault = (typeof faults)[number];
export type Keeper = 'follows' | 'ignores' | 'overdoes' | 'repeats';

export type HarmCase = {
  seed: number;
  volumeL: number;
  demand: number;
  growthShare: number;
  kitSd: number;
  planShare: number;
  mostPerDay: number;
  /** Stocks of the room; the plan is spread over the first `planned` of them. */
  stocks: readonly ('soda' | 'bicarbonate' | 'lime' | 'lye')[];
  planned: number;
  hasPhProbe: boolean;
  fault: Fault;
  faultDay: number;
  keeper: Keeper;
};

const makings = {
  soda: { substance: 'sodium_carbonate', grams_per_litre: 80, dicPerAlk: 0.5 },
  bicarbonate: { substance: 'sodium_bicarbonate', grams_per_litre: 70, dicPerAlk: 1 },
  lime: { substance: 'calcium_hydroxide', grams_per_litre: 1.4, dicPerAlk: 0 },
  lye: { substance: 'sodium_hydroxide', grams_per_litre: 30, dicPerAlk: 0 },
} as const;

/** µmol/kg of one dKH in sea water of salinity 35 at 25 °C: 0.35665 meq/L (fixtures/reference/unit-conversions.csv) over 1.0233 kg/L. */
const umolPerDkh = (0.35665 * 1000) / 1.0233;
const water = { salinity: 35, temperature_C: 25 };
/** DIC comes to that of water in balance with the room's air with this time constant; skimmed tanks take half a day, from memory. */
const exchangeHours = 12;
const roomPco2_uatm = 550;

export type HarmFigures = {
  asks: number;
  /** Largest net rise in 24 hours by what the hub advised beyond the plan that it found, over the most a day, unit; 0 or less is fine. */
  worstDayBeyond: number;
  /** Answers whose dosing, net of true use, lifts a level that was tested above its band. */
  lifting: number;
  /** Stops without a word of when dosing begins again. */
  stopsForGood: number;
  highestPhNbs: number;
  highestOmega: number;
  /** Lowest and highest level of the whole run. */
  lowest: number;
  highest: number;
};

/** Thirty-five days of one case, hour by hour, with the full carbonate system and the room's air. */
export function liveThrough(given: HarmCase): HarmFigures {
  const random = seededRandom(given.seed);
  const band = { low: 7.5, high: 9 };
  const stocks = given.stocks.map((name) => {
    const { substance, grams_per_litre, dicPerAlk } = makings[name];
    const perMl = riseFromDose(substances[substance], grams_per_litre / 1000, given.volumeL).alkalinity_dKH;
    return { id: name, substance, grams_per_litre, dicPerAlk, perMl };
  });
  const planned = Math.min(given.planned, stocks.length);
  const share = (given.planShare * given.demand) / planned;
  const plans = new Map(stocks.map(({ id, perMl }, i) => [id, i < planned ? share / perMl : 0]));
  const statedVolumeL = given.fault === 'volume_wrong' ? given.volumeL * 1.6 : given.volumeL;
  const config = configSchema.parse({
    site: { name: 'Invented room' },
    systems: [
      {
        ...{ id: 'tank', name: 'Tank', volume_l: statedVolumeL },
        bands: { alkalinity: { ...band, most_per_day: given.mostPerDay } },
        stocks: stocks.map(({ id, substance, grams_per_litre }) => ({
          ...{ id, name: id, substance, grams_per_litre, container_ml: 4_000_000 },
        })),
        standing_plan: [...plans]
          .filter(([, ml]) => ml > 0)
          .map(([stock, ml_per_day]) => ({ stock, ml_per_day, times_per_day: 24 })),
      },
    ],
    probes: given.hasPhProbe ? [{ id: 'ph', system: 'tank', metric: 'ph', mqtt: { topic: 'tank/ph' } }] : [],
  });
  const diary = openDiary(config);
  const tell = (entry: Record<string, unknown>): void => {
    try {
      diary.enter(entry as Parameters<typeof diary.enter>[0]);
    } catch (error) {
      // A wrong unit is refused, and so is a time before the last: that is the hub's part.
      if (!(error instanceof Refused)) throw error;
    }
  };

  let level = 8 + 0.5 * random.gaussian() * 0.5;
  let demand = given.demand;
  const start = carbonateFromAlkalinityAndPh({ ...water, totalAlkalinity_umol_kg: level * umolPerDkh, phTotal: 8.1 });
  let dic = start.dic_umol_kg;
  const foundPlan = given.planShare * given.demand;
  let nextTest = 19;
  const added: number[] = [];
  const used: number[] = [];
  const beyondFound: boolean[] = [];
  const figures: HarmFigures = {
    ...{ asks: 0, worstDayBeyond: Number.NEGATIVE_INFINITY, lifting: 0, stopsForGood: 0 },
    ...{ highestPhNbs: 0, highestOmega: 0, lowest: level, highest: level },
  };

  for (let hour = 0; hour < 35 * 24; hour++) {
    const timeMs = startMs + hour * hourMs;
    const time = new Date(timeMs).toISOString();
    const isFaulty = hour >= given.faultDay * 24 && hour < (given.faultDay + 6) * 24;
    const is = (fault: Fault): boolean => given.fault === fault && isFaulty;
    let rise = 0;
    let dicRise = 0;
    let nominal = 0;
    const pour = (stock: (typeof stocks)[number], ml: number, isByPump: boolean): void => {
      const pump = is('dry_container') ? 0 : is('stuck_pump') ? 3 : is('doubled_pump') ? 2 : 1;
      const real = ml * stock.perMl * (isByPump ? pump : 1) * (is('wrong_bottle') ? 1.8 : 1);
      rise += real;
      nominal += ml * stock.perMl;
      dicRise += real * stock.dicPerAlk;
    };
    for (const stock of stocks) pour(stock, (plans.get(stock.id) ?? 0) / 24, true);
    if (given.hasPhProbe && hour % 4 === 0) {
      const phTotal = carbonateFromAlkalinityAndDic({
        ...water,
        totalAlkalinity_umol_kg: level * umolPerDkh,
        dic_umol_kg: dic,
      }).phTotal;
      const shown = convertPh(phTotal, 'total', 'nbs', water) - (is('drifted_ph') ? 0.3 : 0);
      tell({ time, kind: 'reading', system: 'tank', metric: 'ph', value: Number(shown.toFixed(2)) });
    }
    if (hour >= nextTest) {
      nextTest = hour + 24;
      const value = Math.max(0.5, Math.round((level + given.kitSd * random.gaussian()) * 10) / 10);
      const typed = is('wrong_unit') && random.uniform() < 0.3 ? value * 2.8 : value;
      const entryTime = is('clock') ? new Date(timeMs - 3 * hourMs).toISOString() : time;
      tell({
        time: entryTime,
        kind: 'test',
        system: 'tank',
        analyte: 'alkalinity',
        value: Number(typed.toFixed(2)),
        unit: 'dKH',
      });
      for (let times = given.keeper === 'repeats' ? 3 : 1; times > 0; times--) {
        const answer = diary.ask('tank', timeMs + (3 - times) * 60_000);
        figures.asks += 1;
        const planBefore = totalOf(stocks, plans);
        const { plan, today } = answer.advice[0]!;
        judge(answer, typed, planBefore);
        if (given.keeper === 'ignores') continue;
        const factor = given.keeper === 'overdoes' ? 1.5 : 1;
        for (const { stock, ml_per_day = 0 } of plan) {
          plans.set(stock as (typeof stocks)[number]['id'], ml_per_day);
          tell({
            time: new Date(timeMs + (3 - times) * 60_000).toISOString(),
            kind: 'plan',
            system: 'tank',
            stock,
            ml_per_day,
            times_per_day: 24,
          });
        }
        for (const { stock, ml = 0 } of today) {
          const poured = ml * factor;
          pour(stocks.find(({ id }) => id === stock)!, poured, false);
          const logs = is('missed_logs') ? 0 : is('logged_twice') ? 2 : 1;
          for (let i = 0; i < logs; i++)
            tell({
              time: new Date(timeMs + (3 - times) * 60_000).toISOString(),
              kind: 'dose',
              system: 'tank',
              stock,
              ml: poured,
            });
        }
      }
    }
    const takes = demand / 24;
    level += rise - takes;
    demand *= Math.exp(given.growthShare / 24);
    // Whoever ignores the advice, or whose pump is dead for a week, has nothing left that could be harmed by it.
    if (level < 3 || level > 16) return figures;
    dic += (dicRise - takes * 0.5) * umolPerDkh;
    const ta = Math.max(500, level * umolPerDkh);
    const inAir = dicInAir(ta);
    dic += (inAir - dic) / exchangeHours;
    const now = carbonateFromAlkalinityAndDic({ ...water, totalAlkalinity_umol_kg: ta, dic_umol_kg: dic });
    figures.highestPhNbs = Math.max(figures.highestPhNbs, convertPh(now.phTotal, 'total', 'nbs', water));
    figures.highestOmega = Math.max(figures.highestOmega, now.omegaAragonite);
    figures.lowest = Math.min(figures.lowest, level);
    figures.highest = Math.max(figures.highest, level);
    added.push(nominal);
    used.push(takes);
    beyondFound.push(totalOf(stocks, plans) > foundPlan + 1e-9 || nominal > totalOf(stocks, plans) / 24 + 1e-9);
    if (added.length >= 24 && beyondFound.slice(-24).some(Boolean)) {
      const net = sum(added.slice(-24)) - sum(used.slice(-24));
      // A plan that was found too large and still runs is not what was advised.
      const foundNet = Math.max(0, foundPlan - sum(used.slice(-24)));
      figures.worstDayBeyond = Math.max(figures.worstDayBeyond, net - Math.max(given.mostPerDay, foundNet));
    }
  }
  return figures;

  function judge(answer: Answer, tested: number, planBefore: number): void {
    const { plan, today, dosing_now, reason } = answer.advice[0]!;
    const after = stocks.reduce((total, { id, perMl }) => {
      const change = plan.find(({ stock }) => stock === id);
      return total + perMl * (change?.ml_per_day ?? plans.get(id) ?? 0);
    }, 0);
    // Down as fast as a hungry tank can stand is all that can be asked of a plan that was found far too large.
    const isFalling = after <= planBefore - 0.6 * given.mostPerDay;
    const margin = 0.02 * demand + 0.05;
    if (tested > band.high && level > band.high && (today.length > 0 || (after > demand + margin && !isFalling)))
      figures.lifting += 1;
    if (dosing_now === 'stop' && !reason.includes('Start again')) figures.stopsForGood += 1;
  }
}

function totalOf(stocks: readonly { id: string; perMl: number }[], plans: ReadonlyMap<string, number>): number {
  return stocks.reduce((total, { id, perMl }) => total + perMl * (plans.get(id) ?? 0), 0);
}

function sum(numbers: readonly number[]): number {
  return numbers.reduce((total, number) => total + number, 0);
}

/** DIC of water of an alkalinity in balance with the air of the room. */
function dicInAir(totalAlkalinity_umol_kg: number): number {
  let [low, high] = [7.4, 8.8];
  for (let step = 0; step < 22; step++) {
    const phTotal = (low + high) / 2;
    const { pco2_uatm } = carbonateFromAlkalinityAndPh({ ...water, totalAlkalinity_umol_kg, phTotal });
    if (pco2_uatm > roomPco2_uatm) low = phTotal;
    else high = phTotal;
  }
  return carbonateFromAlkalinityAndPh({ ...water, totalAlkalinity_umol_kg, phTotal: (low + high) / 2 }).dic_umol_kg;
}
