import { describe, expect, it } from 'vitest';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import { carbonateFromAlkalinityAndDic, carbonateFromAlkalinityAndPh } from '#rules/seawater/carbonate-system.ts';
import { alkalinityOfPhAndDic_umol_kg } from './alkalinity-of-ph-and-dic.ts';
import { type ReferenceRow, referenceTable } from './reference-table.ts';
import { WorstDifference } from './worst-difference.ts';

const rows = referenceTable('carbonate-system', 150);

function waterOf(row: ReferenceRow) {
  const boron = row.text('boron_option');
  if (boron !== 'uppstrom1974' && boron !== 'lee2010') throw new Error(`line ${row.line}: boron_option ${boron}`);
  return {
    salinity: row.number('salinity'),
    temperature_C: row.number('temperature_C'),
    boronOption: boron,
    calcium_mg_L: row.number('calcium_measured_mg_L'),
  } as const;
}

describe('the carbonate system', () => {
  // Table: PyCO2SYS 1.8.3.4, checked with CO2SYS 3.1.2 and seacarb 3.3.4 (fixtures/reference/README.md).
  it('from alkalinity and pH is that of the reference table in all of its 150 waters', () => {
    const columns = [
      ['dic_umol_kg', 'dic_umol_kg'],
      ['pco2_uatm', 'pco2_uatm'],
      ['fco2_uatm', 'fco2_uatm'],
      ['co2_umol_kg', 'co2_umol_kg'],
      ['hco3_umol_kg', 'hco3_umol_kg'],
      ['co3_umol_kg', 'co3_umol_kg'],
      ['borate_umol_kg', 'boh4_umol_kg'],
      ['hydroxide_umol_kg', 'oh_umol_kg'],
      ['omegaAragonite', 'omega_aragonite'],
      ['omegaCalcite', 'omega_calcite'],
      ['omegaAragoniteMeasuredCalcium', 'omega_aragonite_measured_calcium'],
    ] as const;
    const worst = columns.map(([, column]) => new WorstDifference(`${column} from TA and pH`, 1e-5, true));
    const dic = new WorstDifference('dic, µmol/kg', 0.02);
    const omega = new WorstDifference('omega aragonite', 1e-4);
    for (const row of rows) {
      const found = carbonateFromAlkalinityAndPh({
        ...waterOf(row),
        totalAlkalinity_umol_kg: row.number('total_alkalinity_umol_kg'),
        phTotal: row.number('ph_total'),
      });
      columns.forEach(([ours, theirs], index) => {
        worst[index]!.add(found[ours] ?? Number.NaN, row.number(theirs), `line ${row.line}`);
      });
      dic.add(found.dic_umol_kg, row.number('dic_umol_kg'), `line ${row.line}`);
      omega.add(found.omegaAragonite, row.number('omega_aragonite'), `line ${row.line}`);
    }
    for (const each of [...worst, dic, omega]) each.check();
  });

  it('from alkalinity and DIC has the pH of the reference table, so a dose has the right effect', () => {
    const ph = new WorstDifference('pH from TA and DIC', 1e-6);
    for (const row of rows) {
      const found = carbonateFromAlkalinityAndDic({
        ...waterOf(row),
        totalAlkalinity_umol_kg: row.number('total_alkalinity_umol_kg'),
        dic_umol_kg: row.number('dic_umol_kg'),
      });
      ph.add(found.phTotal, row.number('ph_total'), `line ${row.line}`);
    }
    ph.check();
  });

  it('has the alkalinity of the reference table in its mass balance', () => {
    const alkalinity = new WorstDifference('total alkalinity from pH and DIC', 1e-6, true);
    for (const row of rows) {
      const given = { phTotal: row.number('ph_total'), dic_umol_kg: row.number('dic_umol_kg') };
      const found = alkalinityOfPhAndDic_umol_kg({ ...waterOf(row), ...given });
      alkalinity.add(found, row.number('total_alkalinity_umol_kg'), `line ${row.line}`);
    }
    alkalinity.check();
  });

  it('gives no number for water it does not know', () => {
    const water = { salinity: 35, temperature_C: 25, totalAlkalinity_umol_kg: 2300, phTotal: 8.1 };
    const wrong = [
      { salinity: 18.9 },
      { salinity: 43.1 },
      { temperature_C: 4.9 },
      { temperature_C: 35.1 },
      { totalAlkalinity_umol_kg: 99 },
      { totalAlkalinity_umol_kg: 10_001 },
      { phTotal: 4.9 },
      { phTotal: 10.1 },
      { calcium_mg_L: 9 },
      { phTotal: Number.NaN },
      // Borate and hydroxide alone hold more alkalinity than this at pH 9.9.
      { totalAlkalinity_umol_kg: 150, phTotal: 9.9 },
    ];
    for (const part of wrong) {
      expect(() => carbonateFromAlkalinityAndPh({ ...water, ...part }), JSON.stringify(part)).toThrow(OutOfRange);
    }
    expect(() => carbonateFromAlkalinityAndDic({ ...water, totalAlkalinity_umol_kg: 9000, dic_umol_kg: 100 })).toThrow(
      /pH/,
    );
  });
});
