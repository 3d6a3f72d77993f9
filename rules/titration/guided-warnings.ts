import type { TitrationVerdict } from './alkalinity-from-titration.ts';
import type { Co2Hold } from './co2-hold.ts';
import type { GuidedDeed, GuidedPoint, GuidedSetup } from './guided-setup.ts';
import { bottom_ph, smallPortionsFrom_ph } from './next-acid.ts';
import type { ProbeAtRest } from './probe-at-rest.ts';

/** What goes wrong with a guided titration, in the order in which a person should look at it. */
export const guidedWarnings = [
  'probe_silent',
  'acid_without_response',
  'probe_not_settling',
  'probe_noisy',
  'co2_cut_short',
  'co2_not_leaving',
  'went_too_far',
  'few_points',
  'no_fit',
  'electrode_far_off',
  'unlike_the_tank',
  'gran_disagrees',
] as const;
export type GuidedWarning = (typeof guidedWarnings)[number];

/** A glass electrode comes to rest within a minute or two. Common practice, no published source */
const settles_ms = 180_000;
/** Scatter of single readings that a sound probe in a stirred beaker does not have, pH. Common practice, no published source */
const noisy_ph = 0.03;
/** The least that half of the acid to pH 4 moves pH. Common practice, no published source */
const leastFall_ph = 0.3;
const shareThatMoves = 0.4;
/** With fewer the interval is a good deal wider than it could be. @source JCGM 100:2008, table G.2: t is 2.78 for 6, 2.45 for 8 points */
const fewPoints = 6;
/** Of the CO2; the interval allows for less without a word. Chosen here */
const muchLeft = 0.6;
/** Beyond it the electrode wants its buffers. Common practice, no published source */
const farOff_ph = 0.25;
/** So many standard deviations of both together. @source three of them are passed by 0.3 % of what is normal */
const unlike_sd = 3;
/** Gran's line leaves out that sulfate lets go of hydrogen ions unevenly: up to 1 % (seen on the reference runs). */
const granOff = 0.02;

type Seen = {
  setup: GuidedSetup;
  probe: ProbeAtRest;
  current: { acid: number; sinceMs: number };
  points: readonly GuidedPoint[];
  counted: readonly GuidedPoint[];
  hold: Co2Hold | undefined;
  verdict: TitrationVerdict | undefined;
  gran_umol_kg: number | undefined;
  acidToEquivalence: number;
  deed: GuidedDeed;
  nowMs: number;
};

/** All that goes wrong now, most urgent first. */
export function warningsOf(seen: Seen): GuidedWarning[] {
  return guidedWarnings.filter((warning) => applies[warning](seen));
}

const answerOf = ({ verdict }: Seen) => (verdict?.kind === 'answer' ? verdict : undefined);

const applies: Record<GuidedWarning, (seen: Seen) => boolean> = {
  probe_silent: ({ probe }) => probe.state === 'silent',
  acid_without_response({ points, current, acidToEquivalence }) {
    const [first, last] = [points[0], points.at(-1)];
    if (first === undefined || last === undefined || last.acid !== current.acid) return false;
    const isMuch = first.acid === 0 && current.acid >= shareThatMoves * acidToEquivalence;
    return isMuch && first.ph - last.ph < leastFall_ph;
  },
  probe_not_settling: ({ probe, hold, current, nowMs }) =>
    probe.state === 'moving' && hold?.isOver === true && nowMs - current.sinceMs > settles_ms + hold.waited_ms,
  probe_noisy: ({ probe }) => 'scatter_ph' in probe && probe.state === 'at_rest' && probe.scatter_ph > noisy_ph,
  co2_cut_short: ({ hold }) => hold?.isCutShort === true,
  co2_not_leaving: ({ hold }) => hold?.isOver === true && !hold.isCutShort && hold.leftAtMost > muchLeft,
  went_too_far: ({ points, counted, hold }) =>
    hold?.isOver === true && counted.length < 3 && (points.at(-1)?.ph ?? smallPortionsFrom_ph) < bottom_ph + 0.3,
  few_points: (seen) => seen.deed.do === 'stop' && (answerOf(seen)?.points_used ?? fewPoints) < fewPoints,
  no_fit: ({ verdict, deed }) => deed.do === 'stop' && verdict?.kind !== 'answer',
  electrode_far_off(seen) {
    const electrode = answerOf(seen)?.electrode;
    return electrode?.signal === 'ph' && Math.abs(electrode.phOffset) > farOff_ph;
  },
  unlike_the_tank(seen) {
    const answer = answerOf(seen);
    if (answer === undefined) return false;
    const { value, sd } = seen.setup.expected_umol_kg;
    return Math.abs(answer.totalAlkalinity_umol_kg - value) > unlike_sd * Math.hypot(sd, answer.sd_umol_kg);
  },
  gran_disagrees(seen) {
    const found = answerOf(seen)?.totalAlkalinity_umol_kg;
    if (found === undefined || seen.gran_umol_kg === undefined) return false;
    return Math.abs(seen.gran_umol_kg / found - 1) > granOff;
  },
};
