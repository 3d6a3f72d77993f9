import { describe, expect, it } from 'vitest';
import { questionGravity, questionTest } from '#rules/trend/plausible-test.ts';

const expected = { level: 8.1, levelSd: 0.1 };

describe('a test typed in the wrong unit', () => {
  it('mg/L CaCO3 typed as dKH is asked about, with the dKH it means', () => {
    // 1 dKH = 17.84796 mg/L CaCO3 (fixtures/reference/unit-conversions.csv): 145 / 17.848 = 8.124
    const question = questionTest('alkalinity', 145, 'dKH', expected)!;
    expect(question.ask).toContain('8.12 dKH');
    expect(question.meant).toEqual({ value: 8.12, unit: 'dKH', because: '145 mg/L CaCO3' });
    expect(questionTest('alkalinity', 145, 'dKH')!.meant!.value).toBe(8.12);
  });

  it('meq/L typed as dKH is asked about', () => {
    // 2.9 meq/L × 2.80385 = 8.131 dKH
    expect(questionTest('alkalinity', 2.9, 'dKH', expected)!.meant!.value).toBe(8.13);
  });

  it('a lost decimal point is asked about', () => {
    expect(questionTest('alkalinity', 81, 'dKH', expected)!.meant).toMatchObject({ value: 8.1 });
  });

  it('calcium as CaCO3 is asked about', () => {
    // CaCO3 100.086 / Ca 40.078 = 2.4973: 1049 mg/L CaCO3 is 420 mg/L
    expect(questionTest('calcium', 1049, 'mg/L', { level: 425, levelSd: 5 })!.meant!.value).toBe(420);
  });

  it('a number in dKH is taken for meq/L, or the question shows another number than was typed', () => {
    // 8.1 meq/L would be 22.7 dKH (1 meq/L = 2.80385 dKH); what was typed is what is asked about.
    const question = questionTest('alkalinity', 8.1, 'meq/L', expected)!;
    expect(question.ask).toContain('8.1 meq/L is outside 1.427 to 5.706 meq/L');
    expect(question.meant).toMatchObject({ value: 8.1, unit: 'dKH' });
  });

  it('a right number in another unit than the store has is questioned', () => {
    expect(questionTest('alkalinity', 2.9, 'meq/L', expected)).toBeUndefined();
    expect(questionTest('temperature', 78, '°F')).toBeUndefined();
    // 78 °F is 25.56 °C by definition.
    expect(questionTest('temperature', 78, '°C')!.meant).toMatchObject({ value: 25.56, unit: '°C' });
  });

  it('a specific gravity typed as salinity is asked about', () => {
    expect(questionTest('salinity', 1.026, '')!.ask).toContain('specific gravity');
  });
});

describe('each slip of the pen', () => {
  // Weights by IUPAC 2021: Ca 40.078, Mg 24.305, CaCO3 100.086, so 2.4973 and 4.1179 times; 17.848 mg/L CaCO3, 0.35665 meq/L
  // and 356.65 µmol/L for 1 dKH (fixtures/reference/unit-conversions.csv).
  it.each([
    ['alkalinity', 8, 142.784, 'dKH', '142.784 mg/L CaCO3'],
    ['alkalinity', 8, 2.8532, 'dKH', '2.8532 meq/L'],
    ['alkalinity', 8, 2853.2, 'dKH', '2853.2 µeq/L'],
    ['alkalinity', 8, 80, 'dKH', 'decimal point left out'],
    ['alkalinity', 8, 0.8, 'dKH', 'decimal point one place too far left'],
    ['calcium', 420, 1048.866, 'mg/L', '1048.866 mg/L CaCO3'],
    ['calcium', 420, 10.4796, 'mg/L', '10.4796 mmol/L'],
    ['calcium', 420, 4200, 'mg/L', 'decimal point left out'],
    ['calcium', 420, 42, 'mg/L', 'decimal point one place too far left'],
    ['magnesium', 1300, 5353.27, 'mg/L', '5353.27 mg/L CaCO3'],
    ['magnesium', 1300, 53.4869, 'mg/L', '53.4869 mmol/L'],
    ['magnesium', 1300, 130, 'mg/L', 'decimal point one place too far left'],
    ['salinity', 35, 350, '', 'decimal point left out'],
    ['salinity', 35, 3.5, '', 'decimal point one place too far left'],
    ['ph', 8.1, 81, '', 'decimal point left out'],
    ['ph', 8.1, 0.81, '', 'decimal point one place too far left'],
    ['temperature', 25, 250, '°C', 'decimal point left out'],
    ['temperature', 25, 2.5, '°C', 'decimal point one place too far left'],
  ] as const)(
    'is stored, or taken for another: %s of %s typed as %s %s (%s)',
    (analyte, meant, typed, unit, because) => {
      const question = questionTest(analyte, typed, unit, { level: meant, levelSd: 0 })!;
      expect(question.meant).toMatchObject({ value: expect.closeTo(meant, 2), unit, because });
      expect(question.ask).toContain(`Did you mean ${question.meant!.value}`);
      expect(question.ask).toContain(`${typed} ${unit} is outside`.replace('  ', ' '));
    },
  );

  it.each([
    ['alkalinity', 4, 16, 'dKH', 0.01],
    ['calcium', 250, 650, 'mg/L', 0.1],
    ['magnesium', 800, 1900, 'mg/L', 0.1],
    ['salinity', 20, 45, '', 0.01],
    ['ph', 7, 9.2, '', 0.001],
    ['temperature', 12, 35, '°C', 0.01],
  ] as const)('a %s beyond what a reef tank can be is stored without a question', (analyte, low, high, unit, step) => {
    for (const value of [low, high]) expect(questionTest(analyte, value, unit)).toBeUndefined();
    for (const value of [low - step, high + step]) {
      const { ask } = questionTest(analyte, value, unit)!;
      expect(ask).toContain('is outside');
      // The limits are told, in the unit.
      expect(ask).toContain(`outside ${low} to ${high}${unit === '' ? '' : ` ${unit}`}, where a reef tank can be`);
    }
  });

  it('with two slips that fit, the one further from what was expected is offered', () => {
    // 40 mg/L of calcium may be 400 with a lost point, or 1603 mg/L counted as mmol/L, which no tank holds; 10 may be 400.8 as
    // mmol/L only. Without anything expected the first that is possible is offered.
    expect(questionTest('calcium', 10, 'mg/L', { level: 400, levelSd: 5 })!.meant!.because).toBe('10 mmol/L');
    // 65 dKH: 6.5 with a lost point, 3.6 as mg/L CaCO3 (below all tanks).
    expect(questionTest('alkalinity', 65, 'dKH')!.meant).toMatchObject({ value: 6.5, unit: 'dKH' });
    // 150 dKH: 15 with a lost point or 8.40 as mg/L CaCO3; each is nearer in its own tank.
    expect(questionTest('alkalinity', 150, 'dKH', { level: 8.2, levelSd: 0.3 })!.meant!.value).toBe(8.4);
    expect(questionTest('alkalinity', 150, 'dKH', { level: 15.2, levelSd: 0.3 })!.meant!.value).toBe(15);
    expect(questionTest('alkalinity', 150, 'dKH', { level: 12.5, levelSd: 3 })!.meant!.value).toBe(15);
    expect(questionTest('alkalinity', 150, 'dKH', { level: 10.5, levelSd: 3 })!.meant!.value).toBe(8.4);
  });
});

describe('how far is far', () => {
  // Five standard deviations of what was expected and of a usual test together: √(0.5² + 1.2²) = 1.3, so 6.5.
  const unsure = { level: 8, levelSd: 1.2 };
  it('a test just near enough is questioned, or one just too far is not', () => {
    expect(questionTest('alkalinity', 14.49, 'dKH', unsure)).toBeUndefined();
    expect(questionTest('alkalinity', 14.51, 'dKH', unsure)!.ask).toContain(
      '14.51 dKH is far from the expected 8.00 dKH.',
    );
    expect(questionTest('alkalinity', 4.1, 'dKH', { level: 11, levelSd: 1.2 })!.ask).toContain(
      'far from the expected 11.00 dKH',
    );
  });

  it('a slip is offered that lies further than four from what was expected', () => {
    // By hand: 4 × 1.3 = 5.2 above 8 is 13.2: typed 131 is 13.1, typed 133 is 13.3. As mg/L CaCO3 they are 7.3 and 7.5, in another tank.
    const high = { level: 5, levelSd: 1.2 };
    expect(questionTest('alkalinity', 101, 'dKH', high)!.meant!.because).toBe('101 mg/L CaCO3');
    expect(questionTest('salinity', 3.1, '', { level: 35, levelSd: 0 })!.meant).toMatchObject({ value: 31 });
    expect(questionTest('salinity', 3.09, '', { level: 35, levelSd: 0 })!.meant).toBeUndefined();
  });

  it('a specific gravity is read as a salinity, or a salinity as a gravity', () => {
    // 25/25 °C by EOS-80: 1.02637 at 35 (fixtures/reference/seawater-density.csv).
    expect(questionTest('salinity', 1.0264, '')).toMatchObject({
      ask: '1.0264 is no salinity. Did you mean specific gravity 1.0264, salinity 35.0?',
      meant: { value: 1.0264, unit: 'sg' },
    });
    expect(questionTest('salinity', 1.001, '')!.meant).toMatchObject({ value: 1.001, unit: 'sg' });
    expect(questionTest('salinity', 1.049, '')).toEqual({
      ask: 'Salinity cannot be 1.049, and no salt water has that specific gravity. Please enter it again.',
    });
    for (const value of [0.9, 1, 1.05, 3.4]) expect(questionTest('salinity', value, '')!.ask).not.toContain('gravity');
    expect(questionTest('alkalinity', 1.026, 'dKH')!.ask).not.toContain('gravity');
  });

  it('a number that is none, or below nothing, is taken', () => {
    for (const value of [Number.NaN, Number.POSITIVE_INFINITY, -0.1])
      expect(questionTest('nitrate', value, 'mg/L')).toEqual({
        ask: `Nitrate cannot be ${value} mg/L. Please enter it again.`,
      });
    expect(questionTest('nitrate', 0, 'mg/L')).toBeUndefined();
  });

  it('a number that another unit makes too large for any number is guessed at', () => {
    for (const value of [1e7, 1e308])
      expect(questionTest('alkalinity', value, 'dKH')).toEqual({
        ask: `Alkalinity cannot be ${value} dKH. Please enter it again.`,
      });
    expect(questionTest('temperature', -1e308, '°C')).toHaveProperty('ask');
  });

  it('an odd but possible test is asked for without a way to answer', () => {
    expect(questionTest('alkalinity', 19, 'dKH', { level: 8, levelSd: 0.1 })!.ask).toMatch(
      /^Alkalinity: 19 dKH is outside 4 to 16 dKH, .*Is the number right\? If so, test again soon: one odd test alone/,
    );
  });
});

describe('a number typed as a specific gravity', () => {
  it('is taken for one though it is a salinity, or a specific gravity is asked about', () => {
    expect(questionGravity(35)!.meant).toEqual({ value: 35, unit: '', because: 'a salinity' });
    expect(questionGravity(1.026)).toBeUndefined();
    expect(questionGravity(0.8)!.meant).toBeUndefined();
  });
});

describe('a test that needs no question', () => {
  it('a usual test is not questioned, nor one that has moved by a day of demand', () => {
    expect(questionTest('alkalinity', 8.3, 'dKH', expected)).toBeUndefined();
    expect(questionTest('alkalinity', 7.1, 'dKH', expected)).toBeUndefined();
    expect(questionTest('calcium', 430, 'mg/L')).toBeUndefined();
    expect(questionTest('nitrate', 40, 'mg/L')).toBeUndefined();
  });

  it('a possible but far value is asked about without inventing a unit', () => {
    const question = questionTest('alkalinity', 12.4, 'dKH', expected)!;
    expect(question.meant).toBeUndefined();
    expect(question.ask).toContain('test again');
  });

  it('a negative number is never let in', () => {
    expect(questionTest('calcium', -3, 'mg/L')!.ask).toContain('cannot be');
  });
});

// 42.914 mS/cm at S = 35 and 15 °C (UNESCO 44), times rt(25 °C) = 1.2365 of the same paper: 53.06 mS/cm.
it.each([
  { typed: 53.06, unit: 'mS/cm' },
  { typed: 53_060, unit: 'µS/cm' },
  { typed: 5.306, unit: 'S/m' },
])('a conductivity of $typed $unit typed as a salinity is stored, or its unit is not asked for', ({ typed, unit }) => {
  const question = questionTest('salinity', typed, '');
  expect(question?.ask).toContain(`Is it a conductivity in ${unit}? At 25 °C that is salinity 35.0.`);
  expect(question?.meant).toBeUndefined();
});

it('a salinity with its decimal point left out is taken for a conductivity', () => {
  expect(questionTest('salinity', 350, '')?.meant?.value).toBe(35);
  expect(questionTest('salinity', 36, '')).toBeUndefined();
});
