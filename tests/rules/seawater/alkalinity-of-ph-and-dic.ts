import { carbonShares, otherAlkalinity } from '#rules/seawater/carbonate-equilibrium.ts';
import { type CarbonateWater, equilibriumOf } from '#rules/seawater/carbonate-system.ts';

/** Total alkalinity of a water of known pH (total scale) and DIC, µmol/kg: the third way round of the carbonate system. */
export function alkalinityOfPhAndDic_umol_kg(input: CarbonateWater & { phTotal: number; dic_umol_kg: number }): number {
  const water = equilibriumOf(input);
  const h = 10 ** -input.phTotal;
  const { hco3, co3 } = carbonShares(water, h);
  return input.dic_umol_kg * (hco3 + 2 * co3) + 1e6 * otherAlkalinity(water, h).sum;
}
