import type { Store } from '#adapters/ports/store.ts';
import type { Advice, AdviceInput, AdviceProduct, KnownFact } from '#rules/dosing/advice-types.ts';
import { substances } from '#rules/dosing/substances.ts';
import type { Metric } from '#rules/quantity/metric.ts';
import { convertPh } from '#rules/seawater/ph-scale.ts';
import type { DemandAnalyte } from '#rules/trend/demand-facts.ts';
import type { DemandEstimate } from '#rules/trend/demand-filter.ts';
import type { SystemConfig } from '../../model/config/schema.ts';
import { watchedBands } from '../../model/config/watched-room.ts';
import { type Entry, ofKind } from '../../model/journal/journal.ts';
import { currentRisePerDay, dosedBetween } from './known-facts.ts';
import { planNow } from './standing-plan.ts';

type Stock = SystemConfig['stocks'][number];
type Water = AdviceInput['water'];

const testsShown = 6;

function raisesAnalyte(stock: Stock, analyte: DemandAnalyte): boolean {
  if (stock.substance === 'own_strength') return stock.raises === analyte;
  const substance = substances[stock.substance];
  return analyte === 'alkalinity' ? substance.alkalinity_eq_mol > 0 : (substance.moles[analyte] ?? 0) > 0;
}

function productOf(
  system: SystemConfig,
  analyte: DemandAnalyte,
  entries: readonly Entry[],
  nowMs: number,
): AdviceProduct | undefined {
  const stock = system.stocks.find((each) => raisesAnalyte(each, analyte));
  if (stock === undefined) return undefined;
  const times = planNow(system, entries, nowMs).find((plan) => plan.stock === stock.id)?.timesPerDay;
  const made: AdviceProduct['made'] =
    stock.substance === 'own_strength'
      ? { of: 'own_strength', raises: analyte, raises100LByPerMl: stock.raises_100_l_by_per_ml ?? 0 }
      : {
          of: stock.substance,
          ...(stock.grams_per_litre === undefined ? {} : { gramsPerLitre: stock.grams_per_litre }),
        };
  return {
    id: stock.id,
    name: stock.name,
    made,
    ...(stock.most_ml_per_day_per_100_l === undefined ? {} : { mostMlPerDayPer100L: stock.most_ml_per_day_per_100_l }),
    ...(times === undefined ? {} : { timesPerDay: times }),
  };
}

/** The freshest of a probe's reading and a test; a failed reading is no fact. */
function factOf(
  store: Pick<Store, 'series' | 'latest'>,
  system: SystemConfig,
  metric: Metric,
  entries: readonly Entry[],
  nowMs: number,
): KnownFact | undefined {
  const facts: KnownFact[] = [];
  for (const series of store.series()) {
    if (series.system !== system.id || series.metric !== metric) continue;
    const latest = store.latest(series);
    if (latest === undefined || latest.flag === 'fail' || latest.flag === 'missing') continue;
    facts.push({ value: latest.value, ageMs: nowMs - latest.timeMs, isSuspect: latest.flag === 'suspect' });
  }
  const test = ofKind(entries, 'test').findLast(({ body }) => body.analyte === metric);
  if (test !== undefined) facts.push({ value: test.body.value, ageMs: nowMs - test.timeMs });
  return facts.sort((a, b) => a.ageMs - b.ageMs)[0];
}

/** pH on the total scale. A probe calibrated in NBS buffers reads on theirs, which is not the carbonate system's. */
function totalPh(ph: KnownFact | undefined, water: Water): KnownFact | undefined {
  if (ph === undefined) return undefined;
  const at = { salinity: water.salinity?.value ?? 35, temperature_C: water.temperature_C?.value ?? 25 };
  try {
    return { ...ph, value: convertPh(ph.value, 'nbs', 'total', at) };
  } catch {
    return undefined;
  }
}

function waterOf(
  store: Pick<Store, 'series' | 'latest'>,
  system: SystemConfig,
  entries: readonly Entry[],
  nowMs: number,
): Water {
  const fact = (metric: Metric) => factOf(store, system, metric, entries, nowMs);
  const given = (name: keyof Water, known: KnownFact | undefined): Water =>
    known === undefined ? {} : { [name]: known };
  const water: Water = {
    ...given('salinity', fact('salinity')),
    ...given('temperature_C', fact('temperature')),
    ...given('alkalinity_dKH', fact('alkalinity')),
    ...given('calcium_mg_L', fact('calcium')),
    ...given('magnesium_mg_L', fact('magnesium')),
  };
  return { ...water, ...given('phTotal', totalPh(fact('ph'), water)) };
}

/**
 * Everything that advice on one analyte rests on; undefined without a band.
 *
 * @param before  the advice that stood until now
 */
export function adviceInputOf(
  store: Pick<Store, 'series' | 'latest'>,
  system: SystemConfig,
  analyte: DemandAnalyte,
  estimates: Partial<Record<DemandAnalyte, DemandEstimate>>,
  entries: readonly Entry[],
  before: Advice | undefined,
  nowMs: number,
): AdviceInput | undefined {
  const { [analyte]: band, ...otherBands } = watchedBands(system);
  if (band === undefined) return undefined;
  const { [analyte]: estimate, ...otherEstimates } = estimates;
  const tests = ofKind(entries, 'test')
    .filter(({ body }) => body.analyte === analyte)
    .slice(-testsShown);
  const oldestMs = tests[0]?.timeMs;
  const product = productOf(system, analyte, entries, nowMs);
  const testEveryDays = system.test_every_days[analyte];
  return {
    system: { volumeL: system.volume_l, band, otherBands, highestPhAfterDose: system.highest_ph_after_dose },
    analyte,
    ...(estimate === undefined ? {} : { estimate }),
    otherEstimates,
    lastTests: tests.map((test) => ({
      timeMs: test.timeMs,
      value: test.body.value,
      ...(test.body.sd === undefined ? {} : { sd: test.body.sd }),
      isSuspect: estimate?.suspect === true && test === tests.at(-1),
    })),
    ...(oldestMs === undefined
      ? {}
      : { dosedSinceOldestTest: dosedBetween(system, analyte, entries, oldestMs, nowMs) }),
    ...(product === undefined ? {} : { product }),
    currentPlanPerDay: currentRisePerDay(system, analyte, entries, nowMs),
    otherPlansPerDay: {
      alkalinity: currentRisePerDay(system, 'alkalinity', entries, nowMs),
      calcium: currentRisePerDay(system, 'calcium', entries, nowMs),
    },
    water: waterOf(store, system, entries, nowMs),
    ...(testEveryDays === undefined ? {} : { testEveryDays }),
    ...(before === undefined
      ? {}
      : {
          standing: {
            isPlanChange: before.maintenance !== undefined,
            isCorrection: before.correction !== undefined,
          },
        }),
    nowMs,
  };
}
