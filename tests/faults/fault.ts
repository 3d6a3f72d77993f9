import type { PartName } from '../machine/parts.mjs';
import type { Scene } from './scene.ts';

/** What a fault did to one kind of thing. */
export type Row = {
  /** What stood at stake, e.g. `tests and doses`. */
  of: string;
  /** How often the fault was caused, as counted and not as planned. */
  caused: number;
  /** How many things of this kind there were. */
  stake: number;
  lost: number;
  /** The most that the promise lets go; 0 unless given. */
  lostAtMost?: number;
  doubled: number;
  /** From the end of the fault until the work was done again, each time, ms. Empty where nothing has to recover. */
  recoveryMs: readonly number[];
  /** Other promises that were broken, in sentences. */
  broken?: readonly string[];
  /** What else was counted. */
  remark?: string;
};

/**
 * A fault that is caused for real and counted. `amount` says how much of it: kills, seconds, days. The short form runs with
 * every change, the long one on demand.
 */
export type Fault = {
  name: string;
  title: string;
  amount: { of: string; short: number; long: number };
  /** Programs that must be installed. */
  needs: readonly PartName[];
  /** It mounts disks. */
  isForRoot?: true;
  run(scene: Scene, amount: number): Promise<Row[]>;
};

/** The promises that a row breaks, in sentences; none when all are kept. */
export function brokenBy(row: Row): string[] {
  const most = row.lostAtMost ?? 0;
  return [
    ...(row.caused > 0 ? [] : ['the fault was never caused']),
    ...(row.stake > 0 ? [] : ['nothing was at stake']),
    ...(row.lost <= most ? [] : [`${row.lost} lost, at most ${most} may be`]),
    ...(row.doubled === 0 ? [] : [`${row.doubled} doubled`]),
    ...(row.broken ?? []),
  ];
}
