import { type Finding, showFound } from './config-problem.ts';
import { type CrossFindings, unknownId } from './known-ids.ts';
import type { SoundParts } from './sound-parts.ts';

type SoundSystem = NonNullable<NonNullable<SoundParts['systems']>[number]>;
type SoundStock = NonNullable<NonNullable<SoundSystem['stocks']>[number]>;

/** Stocks whose strength is not told, and plans that dose what is not there. */
export function stockFindings(config: SoundParts): CrossFindings {
  const problems: Finding[] = [];
  const warnings: Finding[] = [];
  for (const [index, system] of (config.systems ?? []).entries()) {
    if (system === undefined) continue;
    for (const [at, stock] of (system.stocks ?? []).entries()) {
      if (stock === undefined) continue;
      const found = strengthFindings(stock, ['systems', index, 'stocks', at]);
      problems.push(...found.problems);
      warnings.push(...found.warnings);
    }
    const found = planFindings(system, index);
    problems.push(...found.problems);
    warnings.push(...found.warnings);
  }
  return { problems, warnings };
}

function strengthFindings(stock: SoundStock, path: (string | number)[]): CrossFindings {
  const problems: Finding[] = [];
  const warnings: Finding[] = [];
  if (stock.substance === 'own_strength') {
    if (stock.raises === undefined) {
      const need = 'raises: alkalinity, calcium or magnesium, as the label of the bottle says';
      problems.push({ path: [...path, 'raises'], found: 'nothing', need });
    }
    if (stock.raises_100_l_by_per_ml === undefined) {
      const need = 'raises_100_l_by_per_ml: what one millilitre adds to 100 litres (dKH or mg/L), as the label says';
      problems.push({ path: [...path, 'raises_100_l_by_per_ml'], found: 'no strength', need });
    }
  } else if (stock.substance === 'calcium_reactor') {
    if (stock.effluent === undefined) {
      const need = 'effluent: with the alkalinity_dkh of the effluent, tested';
      problems.push({ path: [...path, 'effluent'], found: 'nothing', need });
    } else if ((stock.effluent.alkalinity_dkh ?? 0) <= (stock.effluent.tank_alkalinity_dkh ?? 8)) {
      const need = 'more than tank_alkalinity_dkh: the effluent is stronger than what goes in';
      problems.push({
        path: [...path, 'effluent', 'alkalinity_dkh'],
        found: showFound(stock.effluent.alkalinity_dkh),
        need,
      });
    }
  } else if (stock.substance !== undefined) {
    if (stock.top_off !== undefined && stock.substance !== 'calcium_hydroxide') {
      const need = 'this key only with substance: calcium_hydroxide, for lime water';
      problems.push({ path: [...path, 'top_off'], found: showFound(stock.substance), need });
    }
    for (const key of ['raises', 'raises_100_l_by_per_ml'] as const) {
      if (stock[key] === undefined) continue;
      const need = `this key only with substance: own_strength; what ${stock.substance} does is known`;
      warnings.push({ path: [...path, key], found: showFound(stock[key]), need });
    }
  }
  return { problems, warnings };
}

function planFindings(system: SoundSystem, index: number): CrossFindings {
  const problems: Finding[] = [];
  const warnings: Finding[] = [];
  const mlPerDay = new Map<string, number>();
  for (const [at, plan] of (system.standing_plan ?? []).entries()) {
    const path = ['systems', index, 'standing_plan', at];
    problems.push(...unknownId(plan?.stock, system.stocks, [...path, 'stock'], 'stock of this system'));
    const stock = system.stocks?.find((entry) => entry?.id !== undefined && entry.id === plan?.stock);
    if (plan === undefined || stock === undefined) continue;
    if (isDry(stock)) {
      const need = `a stock with a strength: give grams_per_litre for ${stock.id}`;
      problems.push({ path: [...path, 'stock'], found: `${showFound(stock.id)}, which is weighed dry`, need });
    }
    const sum = (mlPerDay.get(stock.id ?? '') ?? 0) + (plan.ml_per_day ?? 0);
    mlPerDay.set(stock.id ?? '', sum);
    const most = mostMlPerDay(stock, system.volume_l);
    if (most !== undefined && sum > most * (1 + 1e-9)) {
      const need = `at most ${Number(most.toPrecision(6))} mL a day, by most_ml_per_day_per_100_l of ${stock.id}`;
      warnings.push({ path: [...path, 'ml_per_day'], found: `${sum} mL a day`, need });
    }
  }
  return { problems, warnings };
}

function isDry(stock: SoundStock): boolean {
  return (
    stock.substance !== undefined &&
    stock.substance !== 'own_strength' &&
    stock.substance !== 'calcium_reactor' &&
    !('grams_per_litre' in stock) &&
    stock.top_off === undefined
  );
}

function mostMlPerDay(stock: SoundStock, volumeL: number | undefined): number | undefined {
  const most = stock.most_ml_per_day_per_100_l;
  return most === undefined || volumeL === undefined ? undefined : (most * volumeL) / 100;
}
