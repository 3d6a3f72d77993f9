import { describe, expect, test } from 'vitest';
import { effluentGain, reactorCarbon } from '#rules/dosing/calcium-reactor.ts';
import { carbonateFromAlkalinityAndPh } from '#rules/seawater/carbonate-system.ts';
import { densityFromSalinityEos80 } from '#rules/seawater/density.ts';
import { referenceTable } from '../seawater/reference-table.ts';

describe('what a calcium reactor brings', () => {
  test('its calcium is not that of the chalk which dissolved', () => {
    // 17 dKH × 0.35665 meq/L (fixtures/reference/unit-conversions.csv) are 6.0631 meq/L: 3.0315 mmol/L of 40.078 g/mol.
    const gain = effluentGain({ alkalinity_dKH: 25, tankAlkalinity_dKH: 8, magnesiumShare: 0 });
    expect(gain.alkalinity_dKH).toBe(17);
    expect(gain.calcium_mg_L).toBeCloseTo(121.5, 1);
    expect(gain.magnesium_mg_L).toBe(0);
    // Dolomite: half of the moles are magnesium, 24.305 g/mol.
    const dolomite = effluentGain({ alkalinity_dKH: 25, tankAlkalinity_dKH: 8, magnesiumShare: 0.5 });
    expect(dolomite.calcium_mg_L).toBeCloseTo(60.75, 1);
    expect(dolomite.magnesium_mg_L).toBeCloseTo(36.84, 1);
    expect(effluentGain({ alkalinity_dKH: 7, tankAlkalinity_dKH: 8, magnesiumShare: 0 }).alkalinity_dKH).toBe(0);
    expect(() => effluentGain({ alkalinity_dKH: 25, tankAlkalinity_dKH: 8, magnesiumShare: 0.6 })).toThrow('magnesium');
  });

  test('its carbon dioxide is not that of PyCO2SYS for the same water', () => {
    const rows = referenceTable('carbonate-system', 150).filter(
      (row) => row.number('salinity') === 35 && row.number('temperature_C') === 25,
    );
    const sour = rows.toSorted((a, b) => a.number('ph_total') - b.number('ph_total'))[0]!;
    const tank = { alkalinity: 2300, phTotal: 8.05 };
    const density = densityFromSalinityEos80(35, 25) / 1000;
    const dKH = (umol_kg: number) => (umol_kg * density) / 1000 / 0.35665;
    const water = {
      ...{ salinity: 35, temperature_C: 25, tankPhTotal: tank.phTotal },
      tankAlkalinity_dKH: dKH(tank.alkalinity),
      effluentAlkalinity_dKH: dKH(sour.number('total_alkalinity_umol_kg')),
      effluentPhTotal: sour.number('ph_total'),
    };
    const own = carbonateFromAlkalinityAndPh({
      ...{ salinity: 35, temperature_C: 25, totalAlkalinity_umol_kg: tank.alkalinity, phTotal: tank.phTotal },
    });
    const carried = reactorCarbon(water, 0.05);
    expect((carried.co2_mmol_L * 1000) / density + own.co2_umol_kg).toBeCloseTo(sour.number('co2_umol_kg'), 1);
    // All of the tank is effluent, or none: its own pH, and that of the tank.
    expect(reactorCarbon(water, 1).phAfterDay).toBeCloseTo(sour.number('ph_total'), 4);
    expect(reactorCarbon(water, 0).phAfterDay).toBeCloseTo(8.05, 4);
    expect(carried.phAfterDay).toBeLessThan(8.05);
  });
});
