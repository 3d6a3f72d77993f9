import { expect, test } from 'vitest';
import { gasWords } from '#hub/judgement/estimate/gas-words.ts';

function causes(phNow: number, phInOutdoorAir: number): string {
  const shown = { phNow, phInOutdoorAir };
  const lowPh = { ...shown, airInBalance_ppm: 400, shown };
  const nothing = {
    ph: undefined,
    aragonite: undefined,
    transfer: undefined,
    halfLife_h: undefined,
    room_ppm: undefined,
  };
  return gasWords({ ...nothing, isLightTold: true, lowPh }, 'UTC').text.at(-1)!;
}

test('water above the pH of outdoor air is given a cure for a low pH', () => {
  expect(causes(8.45, 8.35)).toMatch(/Room air does not lower it\.$/);
  expect(causes(8.05, 8.35)).toMatch(/More alkalinity will not fix it: fresh air and aeration will\.$/);
});
