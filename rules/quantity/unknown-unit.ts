import type { Metric } from './metric.ts';

/** A unit that this metric cannot have: the number beside it means something else and must not be used. */
export class UnknownUnit extends Error {
  readonly code = 'UNKNOWN_UNIT';
  readonly metric: Metric;
  readonly found: string;
  readonly allowed: readonly string[];

  constructor(metric: Metric, found: string, allowed: readonly string[]) {
    const list = allowed.map((unit) => (unit === '' ? 'none' : unit)).join(', ');
    super(`unit of ${metric} is "${found}", allowed: ${list}`);
    this.name = 'UnknownUnit';
    this.metric = metric;
    this.found = found;
    this.allowed = allowed;
  }
}
