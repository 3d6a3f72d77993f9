import { describe, expect, it } from 'vitest';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import { interpolate, type Table } from '#rules/quantity/table-interpolation.ts';
import { nernstSlope_mV_per_pH } from '#rules/seawater/nernst.ts';
import { bufferPh, primaryBuffers } from '#rules/seawater/ph-buffer.ts';
import { referenceTable } from './reference-table.ts';
import { WorstDifference } from './worst-difference.ts';

const rows = referenceTable('ph-buffers', 60);

describe('primary pH buffers', () => {
  // Table: NBS/NIST-IUPAC, CODATA 2018 (fixtures/reference/README.md).
  it('have the pH and the ideal slope of the reference table in all of its 60 rows', () => {
    const ph = new WorstDifference('pH of buffers on table points', 0.005);
    const slope = new WorstDifference('Nernst slope, mV per pH', 1e-6);
    for (const row of rows) {
      const buffer = primaryBuffers.find((name) => name === row.text('buffer_id'));
      if (buffer === undefined) throw new Error(`no buffer ${row.text('buffer_id')}`);
      const temperature_C = row.number('temperature_C');
      ph.add(bufferPh(buffer, temperature_C), row.number('pH'), `${buffer} ${temperature_C} °C`);
      slope.add(nernstSlope_mV_per_pH(temperature_C), row.number('nernst_slope_mV_per_pH'), `${temperature_C} °C`);
    }
    ph.check();
    slope.check();
  });

  it('between rows are good to 0.01: a row left out is found again from its neighbours', () => {
    const worst = new WorstDifference('pH of buffers from their neighbours', 0.01);
    for (const buffer of primaryBuffers) {
      const table: Table = rows
        .filter((row) => row.text('buffer_id') === buffer)
        .map((row) => [row.number('temperature_C'), row.number('pH')]);
      for (const [place, value] of table.slice(1, -1)) {
        const others = table.filter(([other]) => other !== place);
        worst.add(interpolate('°C', others, place), value, `${buffer} ${place} °C`);
      }
    }
    worst.check();
  });

  // Hetzer et al. 1977: pH(S) = 2073.44/T - 13.3270 + 0.045199 T - 3.4846e-5 T² (the published equation).
  it('of phthalate after Hetzer follow the published equation between rows too', () => {
    for (let temperature_C = 0.5; temperature_C < 50; temperature_C += 1) {
      const T = temperature_C + 273.15;
      const equation = 2073.44 / T - 13.327 + 0.045199 * T - 3.4846e-5 * T * T;
      expect(Math.abs(bufferPh('phthalate_hetzer1977', temperature_C) - equation)).toBeLessThan(0.0002);
    }
  });

  it('are refused outside 0 to 50 °C', () => {
    expect(() => bufferPh('borax', 50.1)).toThrow(OutOfRange);
    expect(() => bufferPh('borax', Number.NaN)).toThrow(OutOfRange);
    expect(() => nernstSlope_mV_per_pH(101)).toThrow(OutOfRange);
  });
});
