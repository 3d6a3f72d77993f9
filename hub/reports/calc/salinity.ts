import { conductivityFromLinearCompensation } from '#rules/seawater/conductivity-probe.ts';
import { practicalSalinityFromConductivity } from '#rules/seawater/practical-salinity.ts';
import type { Calculation } from './calculation.ts';

export const salinityCalculation: Calculation = {
  name: 'salinity',
  summary: 'Practical salinity from conductivity and temperature, or from a display referred to 25 °C',
  inputs: [
    { name: 'conductivity_mS_cm', help: "at the water's own temperature; wins when both are given" },
    { name: 'displayed_conductivity_mS_cm', help: 'as a probe shows it, referred to 25 °C by a linear coefficient' },
    { name: 'alpha_percent_per_C', help: 'that coefficient' },
    { name: 'temperature_C', help: 'of the water, ITS-90' },
  ],
  results: ['practical_salinity'],
  compute(given) {
    const temperature_C = given.number('temperature_C');
    const conductivity_mS_cm =
      given.has('displayed_conductivity_mS_cm') && !given.has('conductivity_mS_cm')
        ? conductivityFromLinearCompensation(
            given.number('displayed_conductivity_mS_cm'),
            temperature_C,
            given.number('alpha_percent_per_C'),
          )
        : given.number('conductivity_mS_cm');
    return { practical_salinity: practicalSalinityFromConductivity(conductivity_mS_cm, temperature_C) };
  },
};
