import { expect } from 'vitest';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';

/**
 * One number that a rule is asked with: by what name a refusal calls it, and the lowest and highest that are allowed. `step` is
 * 1 for what is counted.
 */
export type Asked = [
  what: string,
  ask: (value: number) => unknown,
  name: string,
  low: number,
  high: number,
  step?: number | undefined,
];

/** The refusal that asking brings; fails when none comes. */
export function refusalOf(ask: () => unknown): OutOfRange {
  try {
    ask();
  } catch (error) {
    if (error instanceof OutOfRange) return error;
    throw error;
  }
  throw new Error('was not refused');
}

/** Both limits are taken; what lies just beyond them, or is no number, is refused by its name and with what is allowed. */
export function expectLimits([, ask, name, low, high, step]: Asked): void {
  for (const allowed of [low, high]) expect(() => ask(allowed)).not.toThrow();
  const beyond = (edge: number): number => step ?? (edge === 0 ? 1e-9 : 1e-6 * Math.abs(edge));
  for (const found of [low - beyond(low), high + beyond(high), ...(step === undefined ? [Number.NaN] : [])]) {
    const { quantity, message } = refusalOf(() => ask(found));
    expect(quantity).toBe(name);
    expect(message).toBe(`${name} is ${found}, allowed: ${low} to ${high}`);
  }
}
