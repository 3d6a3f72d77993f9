import { describe, expect, it } from 'vitest';
import { dipBath } from '#rules/arrivals/bath.ts';

const plain = { bathL: 8, tankShare: 0.6, bagShare: 0.4, reagents: [] };

describe('a dip bath worked by hand', () => {
  // 8 L × 0.6 = 4.8 L tank, 3.2 L bag; 4.8 L fresh for the tank and 6 L rinse: 10.8 L; 2.5 mL/L × 8 L = 20 mL.
  it('takes the wrong litres from the tank, or pours the wrong dose', () => {
    const bath = dipBath({
      ...plain,
      rinseL: 6,
      soakMinutes: 7,
      reagents: [{ name: 'iodine dip', dose_mL_L: 2.5, label: { low_mL_L: 2, high_mL_L: 3 } }],
    });
    expect(bath.tankL).toBeCloseTo(4.8, 12);
    expect(bath.bagL).toBeCloseTo(3.2, 12);
    expect(bath.replaceL).toBeCloseTo(4.8, 12);
    expect(bath.freshL).toBeCloseTo(10.8, 12);
    expect(bath.reagents).toEqual([{ name: 'iodine dip', volume_mL: 20 }]);
    expect(bath.soakMinutes).toBe(7);
    expect(bath.cautions.join(' ')).toMatch(/label.*gloves.*Never mix.*palytoxin.*Discard dip water/i);
    expect(bath.cautions.join(' ')).not.toMatch(/above the label|below the label|thin its salt/);
  });

  it('a strong dose passes unremarked', () => {
    const above = dipBath({
      ...plain,
      reagents: [{ name: 'oil dip', dose_mL_L: 12, label: { low_mL_L: 4, high_mL_L: 8 } }],
    });
    expect(above.cautions[0]).toBe(
      "oil dip: 12 mL/L is above the label's 4 to 8 mL/L. Check the label before pouring.",
    );
    // 12 mL in 1 L is 1.2 % of the bath.
    expect(above.cautions[1]).toContain('1.2 %');
    const below = dipBath({
      ...plain,
      reagents: [{ name: 'oil dip', dose_mL_L: 1, label: { low_mL_L: 4, high_mL_L: 8 } }],
    });
    expect(below.cautions[0]).toContain("below the label's");
  });

  it('two products go into one bath unremarked', () => {
    const reagents = [
      { name: 'iodine dip', dose_mL_L: 1 },
      { name: 'oil dip', dose_mL_L: 1 },
    ];
    expect(dipBath({ ...plain, reagents }).cautions.join(' ')).toContain('iodine dip, oil dip in one bath');
    const unused = [reagents[0]!, { name: 'oil dip', dose_mL_L: 0 }];
    expect(dipBath({ ...plain, reagents: unused }).cautions.join(' ')).not.toContain('in one bath');
  });
});

describe('a bath that would hurt', () => {
  const refused: [string, Partial<Parameters<typeof dipBath>[0]>, RegExp][] = [
    [
      'shares that leave a tenth of the bath open',
      { tankShare: 0.6, bagShare: 0.3 },
      /share plus bag share is 0.9, allowed: 1/,
    ],
    ['mostly bag water', { tankShare: 0.4, bagShare: 0.6 }, /tank share is 0.4.*at least half/],
    ['negative litres', { bathL: -3 }, /bath, L is -3/],
    ['no litres', { bathL: 0 }, /bath, L is 0/],
    ['a soak over the maximum', { soakMinutes: 10.5 }, /soak, minutes is 10.5.*at most 10/],
    ['a soak of no time', { soakMinutes: 0 }, /soak/],
    ['a soak that is no number', { soakMinutes: Number.NaN }, /soak/],
    ['a negative dose', { reagents: [{ name: 'a', dose_mL_L: -1 }] }, /dose of a, mL\/L is -1/],
    ['a negative rinse bath', { rinseL: -1 }, /rinse bath, L is -1/],
    [
      'one reagent poured twice',
      {
        reagents: [
          { name: 'a', dose_mL_L: 1 },
          { name: 'a', dose_mL_L: 2 },
        ],
      },
      /doses of a is 2/,
    ],
    [
      'a label whose range is upside down',
      { reagents: [{ name: 'a', dose_mL_L: 1, label: { low_mL_L: 3, high_mL_L: 2 } }] },
      /label of a, highest/,
    ],
  ];
  it.each(refused)('%s is accepted', (_, change, message) => {
    expect(() => dipBath({ ...plain, ...change })).toThrow(message);
  });
});

describe('the cautions of a bath', () => {
  const said = (change: Partial<Parameters<typeof dipBath>[0]> = {}) =>
    dipBath({ ...plain, soakMinutes: 7, ...change }).cautions.join(' ');
  const oil = (dose_mL_L: number) => [{ name: 'oil', dose_mL_L, label: { low_mL_L: 4, high_mL_L: 8 } }];

  it('are raised by a dose that the label names, or by one per cent of reagent', () => {
    for (const dose of [4, 8]) expect(said({ reagents: oil(dose) })).not.toContain("the label's 4 to 8");
    // 10 mL in a litre are just one per cent.
    expect(said({ reagents: [{ name: 'salve', dose_mL_L: 10 }] })).not.toContain('thin its salt');
    expect(said({ reagents: [{ name: 'salve', dose_mL_L: 10.1 }] })).toContain(
      '1.0 % to the bath and may dilute its salt',
    );
  });

  it('call ten minutes an aim, or call them so where the keeper has set a time', () => {
    expect(said()).not.toContain('is the most, not the aim');
    const { cautions, soakMinutes } = dipBath(plain);
    expect(soakMinutes).toBe(10);
    expect(cautions[0]).toContain('10 minutes is the most, not the aim');
  });

  it('leave out mains near water, or whom to ask when somebody feels ill', () => {
    expect(said()).toMatch(
      /residual-current protection.*physician or a poison centre at once\. Sick fish: a veterinarian\.$/,
    );
  });
});
