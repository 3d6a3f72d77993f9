import { describe, expect, it } from 'vitest';
import { salinityFromDose } from '#rules/dosing/salinity-from-dose.ts';
import { mostSoluble_g_L, type StockSolution, stockSolution } from '#rules/dosing/stock-solution.ts';
import { substances } from '#rules/dosing/substances.ts';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';

function made(recipe: ReturnType<typeof stockSolution>): StockSolution {
  if (recipe.kind !== 'stock') throw new Error(recipe.why);
  return recipe;
}

describe('a stock solution', () => {
  // CRC Handbook: 9.32 % of NaHCO3 in the saturated solution at 25 °C; a litre of it weighs over a kilogram.
  it('refuses sodium bicarbonate past what dissolves, and says how much does', () => {
    const refusal = stockSolution(substances.sodium_bicarbonate, 120);
    expect(refusal).toMatchObject({ kind: 'past_solubility', most_g_L: expect.closeTo(93.2, 6) });
    expect(refusal.kind === 'past_solubility' && refusal.why).toContain('93 g/L');
  });

  // 23.5 % as Na2CO3 is 0.235 × 286.13754 / 105.98754 = 0.634436 of the decahydrate.
  it('counts the water of a hydrate into what dissolves', () => {
    expect(mostSoluble_g_L(substances.sodium_carbonate)).toBeCloseTo(235, 6);
    expect(mostSoluble_g_L(substances.sodium_carbonate_decahydrate)).toBeCloseTo(634.436, 3);
    expect(mostSoluble_g_L(substances.calcium_hydroxide)).toBeCloseTo(1.6, 6);
    expect(stockSolution(substances.calcium_hydroxide, 2)).toMatchObject({ why: expect.stringContaining('1.6 g/L') });
  });

  it('warns of crystals in a cold room only when the stock is near saturation', () => {
    expect(made(stockSolution(substances.sodium_bicarbonate, 90)).cautions.join()).toContain('crystals');
    expect(made(stockSolution(substances.sodium_bicarbonate, 50)).cautions.join()).not.toContain('crystals');
    expect(made(stockSolution(substances.sodium_hydroxide, 20)).cautions.join()).toContain('eye protection');
  });

  it('refuses a recipe that just dissolves, or gives it without saying how to keep it', () => {
    for (const substance of Object.values(substances)) {
      const full = stockSolution(substance, Math.min(2000, mostSoluble_g_L(substance)));
      expect(made(full).cautions.join(' ')).toContain('Label the bottle with name, strength and date; keep it closed.');
    }
  });

  it('refuses a recipe of nothing', () => {
    expect(() => stockSolution(substances.sodium_bicarbonate, 0)).toThrow(OutOfRange);
    expect(() => stockSolution(substances.sodium_bicarbonate, Number.NaN)).toThrow(OutOfRange);
  });
});

describe('the salinity that a dose brings', () => {
  // By hand: 100 g NaHCO3 in 102.33 kg: 0.977230 g/kg; × 35/35.16504 = 0.972643. What stays is the sodium:
  // × 22.98977/84.00577 = 0.273669 of it, 0.266183.
  it('counts all of the salt at once, and the sodium in the end', () => {
    const { atOnce, lasting } = salinityFromDose(substances.sodium_bicarbonate, 100, 100, 1.0233);
    expect(atOnce).toBeCloseTo(0.972643, 4);
    expect(lasting).toBeCloseTo(0.266183, 4);
  });

  // By hand: of Na2CO3, 105.98754 g/mol, the corals take the carbonate, and two sodium of 22.98977 stay.
  it('leaves the sodium of soda behind, and not its carbonate', () => {
    const { atOnce, lasting } = salinityFromDose(substances.sodium_carbonate, 100, 100, 1);
    expect(lasting / atOnce).toBeCloseTo((2 * 22.98976928) / 105.98753856, 6);
  });

  // Two NaHCO3 and one CaCl2 feed one CaCO3 (and a CO2 and a water that leave): two NaCl of 58.43977 g/mol stay.
  it('leaves table salt behind when calcium and alkalinity are dosed as corals use them', () => {
    const bicarbonate = salinityFromDose(substances.sodium_bicarbonate, 2 * 84.00576928, 1000, 1);
    const chloride = salinityFromDose(substances.calcium_chloride_dihydrate, 147.008, 1000, 1);
    const salt = (2 * (22.98976928 + 35.45)) / 1000;
    expect(bicarbonate.lasting + chloride.lasting).toBeCloseTo((salt * 35) / 35.16504, 9);
  });

  it('leaves nothing behind from lime, slaked or quick, once the corals have used it', () => {
    const slaked = salinityFromDose(substances.calcium_hydroxide, 74.092, 100, 1);
    const quick = salinityFromDose(substances.calcium_oxide, 56.077, 100, 1);
    expect(slaked.lasting).toBeCloseTo(0, 9);
    expect(quick.lasting).toBeCloseTo(0, 9);
    expect(quick.atOnce).toBeCloseTo(slaked.atOnce, 9);
  });

  it('keeps magnesium sulfate whole: corals take next to none of it', () => {
    const { atOnce, lasting } = salinityFromDose(substances.magnesium_sulfate_heptahydrate, 246.466, 1000, 1);
    expect(atOnce).toBeCloseTo((0.120361 * 35) / 35.16504, 9);
    expect(lasting).toBe(atOnce);
  });

  it('refuses water of no density', () => {
    expect(() => salinityFromDose(substances.sodium_hydroxide, 1, 1, 0)).toThrow(OutOfRange);
  });
});
