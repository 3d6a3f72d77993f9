import type { PlannedDoses } from './advice-doses.ts';
import type { DoseWater } from './advice-ph.ts';
import type { Strength } from './advice-product.ts';
import type { AdviceInput, SideEffect } from './advice-types.ts';

/** Magnesium below which calcium carbonate falls out more easily, mg/L. @source common practice, no published source */
const lowMagnesium = 1150;
/** Days over which a side effect is followed. */
const sideEffectDays = 7;

/** What a person must know before pouring: the substance's own cautions, and what these data add. */
export function cautionsFor(
  input: AdviceInput,
  planned: PlannedDoses,
  strength: Strength | undefined,
  water: DoseWater,
  effects: readonly SideEffect[],
): string[] {
  const cautions: string[] = [];
  const isDosing = planned.maintenance !== undefined || planned.correction !== undefined;
  // A correction that the limit leaves no room for is no reason to say nothing of the limit.
  if (!isDosing) return planned.cutBy === undefined ? cautions : [planned.cutBy.text];
  if (strength?.addition === 'unknown') {
    cautions.push(
      'What this solution is made of is not known: its pH effect is judged as that of a hydroxide, the strongest.',
    );
  }
  if (strength === undefined) cautions.push('No product is named: choose one, or convert the rise by its label.');
  if (planned.cutBy !== undefined) cautions.push(planned.cutBy.text);
  cautions.push(...measureCautions(input, planned, strength));
  const doses = Math.max(planned.maintenance?.dosesPerDay ?? 0, planned.correction?.dosesPerDay ?? 0);
  if (planned.maintenance && planned.correction)
    cautions.push('Give the correction and the daily dose at different hours.');
  if (strength?.unit === 'g' && doses > 4) {
    cautions.push(
      'So many dry doses are hard to keep up by hand: make a solution and use a pump, or spread it further.',
    );
  }
  if (strength !== undefined && ['carbonate', 'hydroxide', 'unknown'].includes(strength.addition)) {
    cautions.push('Dose in the early morning or at night, when pH is lowest, and watch the pH after the first dose.');
    if (water.assumed.length > 0) cautions.push(`Not measured lately, so assumed: ${water.assumed.join(', ')}.`);
  }
  if (input.water.salinity === undefined) cautions.push('Salinity is not known: check it first, every ion follows it.');
  const salinityBand = input.system.otherBands.salinity;
  const salinity = input.water.salinity?.value;
  if (
    salinity !== undefined &&
    salinityBand !== undefined &&
    !(salinity >= salinityBand.low && salinity <= salinityBand.high)
  ) {
    cautions.push(`Salinity is outside its band (${salinity.toFixed(1)}): mend it first, then test again.`);
  }
  const magnesium = input.water.magnesium_mg_L;
  if (input.analyte !== 'magnesium' && magnesium !== undefined && magnesium.value < lowMagnesium) {
    cautions.push(
      `Magnesium is low (${magnesium.value.toFixed(0)} mg/L): alkalinity and calcium are hard to hold until it is raised.`,
    );
  }
  cautions.push(...sideEffectCautions(input, effects));
  cautions.push(...(strength?.substance?.cautions ?? ['Read the maker’s label; it stands above this advice.']));
  return [...new Set(cautions)];
}

/** Part of the volume that evaporates in a day at the least in a warm room, and so may come back as a dose. */
const evaporatedShare = 0.007;

function measureCautions(input: AdviceInput, planned: PlannedDoses, strength: Strength | undefined): string[] {
  if (strength === undefined) return [];
  const cautions: string[] = [];
  const perDay = (planned.maintenance?.amountPerDay ?? 0) + (planned.correction?.amountPerDay ?? 0);
  if (strength.unit === 'mL' && perDay / 1000 > evaporatedShare * input.system.volumeL) {
    cautions.push(
      `${(perDay / 1000).toFixed(1)} L a day may be more than evaporates: count it as top-off, and watch level and salinity.`,
    );
  }
  const smallest = Math.min(planned.maintenance?.largestDose || perDay, planned.correction?.largestDose || perDay);
  if (smallest > 0 && smallest < 0.3) {
    cautions.push(
      `Single doses of ${Number(smallest.toFixed(2))} ${strength.unit} are hard to measure: dilute the product, or give fewer doses.`,
    );
  }
  return cautions;
}

function sideEffectCautions(input: AdviceInput, effects: readonly SideEffect[]): string[] {
  const known = {
    calcium: input.water.calcium_mg_L,
    alkalinity: input.water.alkalinity_dKH,
    magnesium: input.water.magnesium_mg_L,
  };
  return effects.flatMap((effect) => {
    if (effect.metric === 'salinity') return [];
    const now = known[effect.metric];
    const band = input.system.otherBands[effect.metric];
    const demand = Math.max(0, input.otherEstimates?.[effect.metric]?.demandPerDay ?? 0);
    if (now === undefined || band === undefined) return [];
    const later = now.value + sideEffectDays * (effect.perDay - demand);
    if (later <= band.high) return [];
    return [
      `${effect.text} It would pass the top of its band (${band.high}) within ${sideEffectDays} days: use another product.`,
    ];
  });
}
