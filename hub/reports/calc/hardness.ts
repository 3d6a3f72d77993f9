import { calciumFromEdta, magnesiumByDifference, totalHardnessFromEdta } from '#rules/titration/hardness-titration.ts';
import type { Calculation } from './calculation.ts';

export const hardnessCalculation: Calculation = {
  name: 'hardness',
  summary: 'Calcium by EDTA, and magnesium by the difference to total hardness, with their uncertainty',
  inputs: [
    { name: 'sample_volume_mL', help: 'of what was titrated, 0.1 to 1000' },
    { name: 'predilution_factor', help: 'how many times the water was diluted before; 1 unless given' },
    { name: 'edta_mol_L', help: 'strength of the titrant' },
    { name: 'edta_volume_calcium_mL', help: 'titrant to the end point for calcium alone, at high pH' },
    { name: 'edta_volume_total_hardness_mL', help: 'for calcium and magnesium together, at pH 10; adds magnesium' },
    { name: 'volume_sd_mL', help: 'standard uncertainty of one titrant volume; 0 unless given' },
    { name: 'relative_sd', help: 'of strength and sample together, as a share; 0 unless given' },
  ],
  results: [
    ...['calcium_mmol_L', 'calcium_mg_L', 'calcium_sd_mg_L'],
    ...['magnesium_mmol_L_by_difference', 'magnesium_mg_L_by_difference', 'magnesium_sd_mg_L'],
    ...['total_hardness_mmol_L', 'total_hardness_mg_L_as_CaCO3'],
  ],
  compute(given): Record<string, number> {
    const titration = {
      sample_mL: given.number('sample_volume_mL'),
      predilutionFactor: given.optionalNumber('predilution_factor') ?? 1,
      edta_mol_L: given.number('edta_mol_L'),
      volumeSd_mL: given.optionalNumber('volume_sd_mL') ?? 0,
      relativeSd: given.optionalNumber('relative_sd') ?? 0,
    };
    const calcium_mL = given.number('edta_volume_calcium_mL');
    const calcium = calciumFromEdta(titration, calcium_mL);
    const found = { calcium_mmol_L: calcium.mmol_L, calcium_mg_L: calcium.mg_L, calcium_sd_mg_L: calcium.sd_mg_L };
    const total_mL = given.optionalNumber('edta_volume_total_hardness_mL');
    if (total_mL === undefined) return found;
    const magnesium = magnesiumByDifference(titration, calcium_mL, total_mL);
    const hardness = totalHardnessFromEdta(titration, total_mL);
    return {
      ...found,
      magnesium_mmol_L_by_difference: magnesium.mmol_L,
      magnesium_mg_L_by_difference: magnesium.mg_L,
      magnesium_sd_mg_L: magnesium.sd_mg_L,
      total_hardness_mmol_L: hardness.mmol_L,
      total_hardness_mg_L_as_CaCO3: hardness.mg_L_CaCO3,
    };
  },
};
