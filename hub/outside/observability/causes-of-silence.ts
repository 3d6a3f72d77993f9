import type { EdgeState } from '#adapters/ports/edge.ts';
import type { Deliveries } from '../../judgement/notices/deliveries.ts';
import type { Judging } from '../../judgement/watch/judging.ts';

export type SilenceParts = {
  deliveries: Pick<Deliveries, 'causes'>;
  judging: Pick<Judging, 'behind'>;
  edges(): readonly EdgeState[];
};

export type Cause = { part: string; cause: string };

/** An entry is judged within milliseconds of its answer. */
const behindMs = 10_000;

/** States in which an alarm might not reach a person, one entry each. */
const entries: readonly ((parts: SilenceParts) => Cause[])[] = [
  ({ deliveries }) => deliveries.causes().map((cause) => ({ part: 'notices', cause })),
  ({ judging }) => {
    const { systems, forMs } = judging.behind();
    if (systems === 0 || forMs <= behindMs) return [];
    return [{ part: 'rules', cause: `entries of ${systems} systems not judged for ${Math.round(forMs / 1000)} s` }];
  },
];

export function causesOfSilence(parts: SilenceParts): Cause[] {
  return entries.flatMap((entry) => entry(parts));
}
