import type { DemandAnalyte } from '../trend/demand-facts.ts';
import { adviceFacts, withUnit } from './advice-facts.ts';
import type { AdviceInput, DailyDose, KnownFact, SideEffect } from './advice-types.ts';
import type { Worked } from './advice-worked.ts';
import { reactorCautions } from './calcium-reactor.ts';
import { salinityFromDose } from './salinity-from-dose.ts';
import { salinityText } from './salinity-text.ts';
import type { StockInUse } from './stocks-in-use.ts';
import { evaporatedShare, lowMagnesium_mg_L, usualDensity_kg_L } from './water-facts.ts';

/** Days over which a side effect is followed. */
const sideEffectDays = 7;

/** It is tank water that comes back, and no top-off. */
const isEffluent = (one: StockInUse | undefined): boolean => one?.strength.carbon_mol_eq !== undefined;

type Poured = { dose: DailyDose; one?: StockInUse };

/** What a person must know before pouring: the substance's own cautions, and what these data add. */
export function cautionsFor(worked: Worked, effects: readonly SideEffect[]): string[] {
  const { input, planned, stocks, water, ledger } = worked;
  const poured = [
    ...planned.plan.filter(({ risePerDay, before }) => risePerDay > before.risePerDay),
    ...planned.today,
  ].map((dose): Poured => {
    const one = stocks.find(({ stock }) => stock.product.id === dose.product?.id);
    return one === undefined ? { dose } : { dose, one };
  });
  const cautions: string[] = [];
  if (ledger.beyond > 0) {
    const { label } = adviceFacts[input.analyte];
    cautions.push(
      `The last 24 hours gave ${withUnit(input.analyte, ledger.beyond, input.units)} of ${label.toLowerCase()} more than a day should. Nothing on top until tomorrow.`,
    );
  }
  if (planned.cutBy !== undefined) cautions.push(planned.cutBy.text);
  // What is not poured needs no gloves.
  if (poured.length === 0) return cautions;
  if (input.system.volumeDoubt !== undefined) cautions.push(input.system.volumeDoubt);
  if (poured.some(({ one }) => one?.strength.addition === 'unknown')) {
    cautions.push(
      'What this solution is made of is not known: its pH effect is judged as that of a hydroxide, the strongest.',
    );
  }
  if (stocks.length === 0) cautions.push('No product is named: choose one, or convert the rise by its label.');
  cautions.push(...measureCautions(input, poured));
  if (planned.today.length > 0 && planned.risePerDay > 0)
    cautions.push('Give what goes on top and the daily dose at different hours.');
  if (poured.some(({ one }) => isEffluent(one))) {
    cautions.push(...reactorCautions);
    if (water.assumed.length > 0) cautions.push(`Not measured lately, so assumed: ${water.assumed.join(', ')}.`);
  }
  const lifting = poured.filter(
    ({ one }) => one && ['carbonate', 'hydroxide', 'unknown'].includes(one.strength.addition),
  );
  if (lifting.length > 0) {
    // A pump that doses round the clock has no morning.
    if (lifting.some(({ dose }) => dose.dosesPerDay <= 3))
      cautions.push('Dose in the early morning or at night, when pH is lowest, and watch the pH after the first dose.');
    else cautions.push('Watch the pH after the first doses.');
    if (water.assumed.length > 0) cautions.push(`Not measured lately, so assumed: ${water.assumed.join(', ')}.`);
  }
  if (input.water.salinity === undefined) cautions.push('Salinity is not known: check it first, every ion follows it.');
  const magnesium = input.water.magnesium_mg_L?.value;
  if (
    (input.analyte === 'alkalinity' || input.analyte === 'calcium') &&
    magnesium !== undefined &&
    magnesium < lowMagnesium_mg_L
  ) {
    cautions.push(
      `Magnesium is low (${withUnit('magnesium', magnesium, input.units)}): calcium carbonate precipitates more easily. Raise it before large corrections.`,
    );
  }
  cautions.push(...sideEffectCautions(input, effects), ...saltCautions(input, poured));
  for (const { one } of poured)
    cautions.push(...(one?.strength.substance?.cautions ?? ['Read the maker’s label; it overrides this advice.']));
  return [...new Set(cautions)];
}

function measureCautions(input: AdviceInput, poured: readonly Poured[]): string[] {
  const cautions: string[] = [];
  const litres = poured.reduce(
    (sum, { dose, one }) => sum + (dose.unit === 'mL' && !isEffluent(one) ? (dose.amountPerDay ?? 0) / 1000 : 0),
    0,
  );
  if (litres > evaporatedShare * input.system.volumeL) {
    cautions.push(
      `${litres.toFixed(1)} L a day may be more than evaporates: count it as top-off, and watch level and salinity.`,
    );
  }
  for (const { dose } of poured) {
    const smallest = dose.largestDose ?? 0;
    if (smallest > 0 && smallest < 0.3) {
      cautions.push(
        `Single doses of ${Number(smallest.toFixed(2))} ${dose.unit} are hard to measure: dilute the product, or give fewer doses.`,
      );
    }
    if (dose.unit === 'g' && dose.dosesPerDay > 4) {
      cautions.push(
        'So many dry doses are hard to keep up by hand: make a solution and use a pump, or spread it further.',
      );
    }
  }
  return cautions;
}

/** The salt that goes in with calcium or magnesium, where it would take the salinity past its band within the week. */
function saltCautions(input: AdviceInput, poured: readonly Poured[]): string[] {
  const band = input.system.otherBands.salinity;
  const salinity = input.water.salinity?.value;
  if (band === undefined || salinity === undefined || salinity > band.high) return [];
  const rise = poured.reduce((sum, { dose, one }) => {
    if (one?.strength.substance === undefined) return sum;
    const grams = one.strength.solidGramsPerUnit * (dose.amountPerDay ?? 0);
    const { atOnce } = salinityFromDose(one.strength.substance, grams, input.system.volumeL, usualDensity_kg_L);
    return sum + atOnce * sideEffectDays;
  }, 0);
  if (salinity + rise <= band.high) return [];
  return [
    `A week of this lifts salinity from ${salinityText(salinity, 1, input.units)} to about ${salinityText(salinity + rise, 1, input.units)}, past its band: exchange some water for fresh as you go.`,
  ];
}

function sideEffectCautions(input: AdviceInput, effects: readonly SideEffect[]): string[] {
  const known: Partial<Record<DemandAnalyte, Pick<KnownFact, 'value'> | undefined>> = {
    calcium: input.water.calcium_mg_L,
    alkalinity: input.water.alkalinity_dKH,
    magnesium: input.water.magnesium_mg_L,
  };
  return effects.flatMap((effect) => {
    if (effect.metric === 'salinity') return [];
    const level = input.otherEstimates?.[effect.metric]?.level;
    const now = known[effect.metric] ?? (level === undefined ? undefined : { value: level });
    const band = input.system.otherBands[effect.metric];
    const demand = Math.max(0, input.otherEstimates?.[effect.metric]?.demandPerDay ?? 0);
    if (now === undefined || band === undefined) return [];
    const later = now.value + sideEffectDays * (effect.perDay - demand);
    if (later <= band.high) return [];
    return [
      `${effect.text} It would pass the top of its band (${withUnit(effect.metric, band.high, input.units)}) within ${sideEffectDays} days: use another product.`,
    ];
  });
}
