import { type CarbonateSystem, carbonateFromAlkalinityAndDic } from '#rules/seawater/carbonate-system.ts';
import { convertPh } from '#rules/seawater/ph-scale.ts';
import type { TankWater } from './reef-system.ts';
import { massKgOf, salinityOf } from './water.ts';

/** The carbonate system of simulated water, from its amounts of alkalinity and carbon. */
export function carbonateOf(water: TankWater): CarbonateSystem {
  const massKg = massKgOf(water);
  return carbonateFromAlkalinityAndDic({
    salinity: salinityOf(water),
    temperature_C: water.temperature_C,
    totalAlkalinity_umol_kg: (1000 * water.alkalinity_mmol) / massKg,
    dic_umol_kg: (1000 * water.dic_mmol) / massKg,
  });
}

/** What an electrode shows that was calibrated in dilute (NBS) buffers, as those of aquariums are. */
export function probePhOf(water: TankWater): number {
  const { phTotal } = carbonateOf(water);
  return convertPh(phTotal, 'total', 'nbs', { salinity: salinityOf(water), temperature_C: water.temperature_C });
}
