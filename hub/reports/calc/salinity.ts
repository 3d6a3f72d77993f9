import { conductivityFromLinearCompensation } from '#rules/seawater/conductivity-probe.ts';
import { practicalSalinityFromConductivity } from '#rules/seawater/practical-salinity.ts';
import { Refused } from '../../model/refusals/refused.ts';
import { type Calculation, type Given, resultText } from './calculation.ts';

/** mS/cm. A brine full of salt has some 250 at 25 °C (from memory, no published source): above this the unit is another. */
const moreThanAnyWater_mS_cm = 300;

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
    const isDisplayed = given.has('displayed_conductivity_mS_cm') && !given.has('conductivity_mS_cm');
    const conductivity_mS_cm = isDisplayed
      ? conductivityFromLinearCompensation(
          plausibleConductivity('displayed_conductivity_mS_cm', given),
          temperature_C,
          given.number('alpha_percent_per_C'),
        )
      : plausibleConductivity('conductivity_mS_cm', given);
    return { practical_salinity: practicalSalinityFromConductivity(conductivity_mS_cm, temperature_C) };
  },
};

/** @throws Refused  for a number that is one of µS/cm */
function plausibleConductivity(name: string, given: Given): number {
  const conductivity_mS_cm = given.number(name);
  if (conductivity_mS_cm < moreThanAnyWater_mS_cm) return conductivity_mS_cm;
  const [found, meant] = [conductivity_mS_cm, conductivity_mS_cm / 1000].map(resultText);
  throw new Refused(
    'no_answer',
    `${name}: found ${found}, need mS/cm: no water has so much. Is it in µS/cm? Then write ${meant}.`,
  );
}
