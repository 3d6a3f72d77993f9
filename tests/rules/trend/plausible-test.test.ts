import { describe, expect, it } from 'vitest';
import { questionTest } from '#rules/trend/plausible-test.ts';

const expected = { level: 8.1, levelSd: 0.1 };

describe('a test typed in the wrong unit', () => {
  it('mg/L CaCO3 typed as dKH is asked about, with the dKH it means', () => {
    // 1 dKH = 17.84796 mg/L CaCO3 (fixtures/reference/unit-conversions.csv): 145 / 17.848 = 8.124
    const question = questionTest('alkalinity', 145, 'dKH', expected)!;
    expect(question.ask).toContain('8.12 dKH');
    expect(question.meant).toMatchObject({ value: 8.124, because: 'mg/L CaCO3' });
    expect(questionTest('alkalinity', 145, 'dKH')!.meant!.value).toBeCloseTo(8.124, 3);
  });

  it('meq/L typed as dKH is asked about', () => {
    // 2.9 meq/L × 2.80385 = 8.131 dKH
    expect(questionTest('alkalinity', 2.9, 'dKH', expected)!.meant!.value).toBeCloseTo(8.131, 2);
  });

  it('a lost decimal point is asked about', () => {
    expect(questionTest('alkalinity', 81, 'dKH', expected)!.meant).toMatchObject({ value: 8.1 });
  });

  it('calcium as CaCO3 is asked about', () => {
    // CaCO3 100.086 / Ca 40.078 = 2.4973: 1049 mg/L CaCO3 is 420 mg/L
    expect(questionTest('calcium', 1049, 'mg/L', { level: 425, levelSd: 5 })!.meant!.value).toBeCloseTo(420.1, 1);
  });

  it('a specific gravity typed as salinity is asked about', () => {
    expect(questionTest('salinity', 1.026, '')!.ask).toContain('specific gravity');
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
