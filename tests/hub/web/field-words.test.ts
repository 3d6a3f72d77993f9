import { expect, test } from 'vitest';
import { calculations } from '#hub/reports/calc/registry.ts';
import { fieldWords } from '#hub/web/src/calculate/field-words.ts';

// Units as the SI brochure writes them (BIPM, 9th edition, 5.4.1); the rest is the page's own wording.

test('a field is called by the name of its column, or without its unit', () => {
  expect(fieldWords('total_alkalinity_umol_kg')).toBe('Total alkalinity, µmol/kg');
  expect(fieldWords('displayed_conductivity_mS_cm')).toBe('Displayed conductivity, mS/cm');
  expect(fieldWords('alpha_percent_per_C')).toBe('Alpha, % per °C');
  expect(fieldWords('tank_ph_total')).toBe('Tank pH (total)');
  const names = calculations.flatMap(({ inputs, results }) => [...inputs.map(({ name }) => name), ...results]);
  expect(names.length).toBeGreaterThan(50);
  for (const name of names) expect(fieldWords(name), name).toMatch(/^[A-Zp].*[a-zA-Z0-9%)]$/);
  expect(names.map(fieldWords).filter((words) => words.includes('_'))).toEqual([]);
});
