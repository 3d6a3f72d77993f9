import { describe, expect, it } from 'vitest';
import { alkalinityAfterAcid, alkalinityLeft, phFreeAtAlkalinity } from '#rules/titration/acid-balance.ts';
import { acidToPh, type CarbonInCell, equivalencePhFree } from '#rules/titration/fixed-end-point.ts';
import { granLine } from '#rules/titration/gran.ts';
import { titrationChemistry } from '#rules/titration/seawater-titration.ts';

const chemistry = {
  ...titrationChemistry(35, 25),
  // Constants of phosphoric acid on the free scale, of the size that Dickson 1981 states (from memory).
  phosphate: { total_umol_kg: 40, kp1: 0.02, kp2: 1e-6, kp3: 1.6e-9 },
};

describe('the balance of acid and bases', () => {
  it('phosphate is not diluted with the rest by the acid', () => {
    for (const ph of [3.5, 6, 8.1]) {
      const h = 10 ** -ph;
      const [none, half, whole] = [0, 0.5, 1].map((share) => alkalinityLeft(chemistry, h, share, 2000));
      // What the water itself brings stays; all else is in proportion to the sample.
      expect(none).toBeCloseTo(chemistry.kw / h - h, 12);
      expect(half! - none!).toBeCloseTo((whole! - none!) / 2, 12);
    }
  });

  it('a mixture far too acid, or a lye, has no pH', () => {
    for (const wanted of [-9, -0.5, -0.02, 0, 0.002, 0.5, 9]) {
      const ph = phFreeAtAlkalinity(chemistry, wanted, 0.5, 2000);
      const [above, below] = [1e-9, -1e-9].map((by) => alkalinityLeft(chemistry, 10 ** -(ph + by), 0.5, 2000));
      expect(above).toBeGreaterThan(wanted);
      expect(below).toBeLessThan(wanted);
    }
  });
});

describe('a titration to one pH, at any pH', () => {
  const cells: [string, CarbonInCell][] = [
    ['that keeps its CO2', { kind: 'closed', dic_umol_kg: 2000 }],
    ['in the open', { kind: 'open', dissolvedCo2_umol_kg: 12 }],
  ];
  it.each(cells)('takes other acid than the search for that pH shows, in a cell %s', (_, carbon) => {
    const titration = { chemistry, sample_g: 100, acid_mol_kg: 0.1, carbon };
    const { k1, k2 } = chemistry;
    // Dissolved CO2 that the air holds, and by the two constants what stands in balance with it.
    const held = carbon.kind === 'closed' ? carbon.dic_umol_kg : (h: number) => 12 * (1 + k1 / h + (k1 * k2) / h ** 2);
    for (const phFree of [3, 4.5, 6, 7.5, 8.2, 9]) {
      const acid_g = acidToPh(titration, 12_000, phFree);
      const sample = { mass_g: 100, totalAlkalinity_umol_kg: 12_000, dic_umol_kg: 0 };
      const left = alkalinityAfterAcid(sample, acid_g, 0.1);
      expect(phFreeAtAlkalinity(chemistry, left, 100 / (100 + acid_g), held)).toBeCloseTo(phFree, 9);
    }
    // At equivalence as much acid was added as there was alkalinity.
    const atEquivalence = acidToPh(titration, 2300, equivalencePhFree(titration, 2300));
    expect(atEquivalence).toBeCloseTo((2300e-6 * 100) / 0.1, 6);
  });
});

describe('the straight line past the equivalence point', () => {
  it('meets zero elsewhere than where the alkalinity is used up, or hides the offset of the electrode', () => {
    // A strong base without buffers: free acid is all that was added past 2.3 g, in sample and acid together.
    const points = [2.5, 2.9, 3.2, 4, 4.4].map((acid_g) => ({
      acid_g,
      reading: 0.2 - Math.log10(((acid_g - 2.3) * 0.1) / (100 + acid_g)),
    }));
    const line = granLine(points, 100, 0.1)!;
    expect(line.equivalence_g).toBeCloseTo(2.3, 9);
    expect(line.offset).toBeCloseTo(0.2, 9);
    // Millivolts turned into pH units lie far from 7.
    const far = granLine(
      points.map(({ acid_g, reading }) => ({ acid_g, reading: reading - 900 })),
      100,
      0.1,
    )!;
    expect(far.equivalence_g).toBeCloseTo(2.3, 6);
  });

  it('is drawn where there is none', () => {
    const flat = (readings: number[]) =>
      granLine(
        readings.map((reading, acid_g) => ({ acid_g, reading })),
        100,
        0.1,
      );
    expect(flat([])).toBeUndefined();
    expect(flat([4])).toBeUndefined();
    // The electrode rises by more than the dilution makes up for.
    expect(flat([4, 5, 6])).toBeUndefined();
    // 100, 101 and 102 g of mixture with as much acid a gram in all: no slope at all.
    expect(flat([4, 4 + Math.log10(1.01), 4 + Math.log10(1.02)].map((reading) => reading + 1e-9))).toBeUndefined();
    expect(
      granLine(
        [
          { acid_g: 1, reading: 4 },
          { acid_g: 1, reading: 3 },
        ],
        100,
        0.1,
      ),
    ).toBeUndefined();
    expect(flat([4, -400])).toBeUndefined();
  });
});
