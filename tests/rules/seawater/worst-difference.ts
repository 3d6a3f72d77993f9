import { expect } from 'vitest';

/**
 * Compares many pairs and keeps the worst, so that a test can both fail on it and print it for rules/seawater/README.md.
 */
export class WorstDifference {
  readonly what: string;
  readonly tolerance: number;
  private readonly isRelative: boolean;
  private worst = 0;
  private place = 'nowhere';
  private count = 0;

  /** @param tolerance  absolute in the unit of `what`, or a share when `isRelative` */
  constructor(what: string, tolerance: number, isRelative = false) {
    this.what = what;
    this.tolerance = tolerance;
    this.isRelative = isRelative;
  }

  add(ours: number, theirs: number, place: string): void {
    const difference = Math.abs(ours - theirs) / (this.isRelative ? Math.abs(theirs) : 1);
    this.count += 1;
    // A NaN must not slip through the comparison below.
    if (!Number.isFinite(difference)) throw new Error(`${this.what} at ${place}: ours ${ours}, theirs ${theirs}`);
    if (difference > this.worst) {
      this.worst = difference;
      this.place = place;
    }
  }

  /** Fails when nothing was compared or the worst is beyond the tolerance; prints what it saw. */
  check(): void {
    const unit = this.isRelative ? ' (relative)' : '';
    console.log(`worst ${this.what}: ${this.worst.toExponential(2)}${unit} in ${this.count} at ${this.place}`);
    expect(this.count).toBeGreaterThan(0);
    expect(this.worst, `${this.what} at ${this.place}`).toBeLessThanOrEqual(this.tolerance);
  }
}
