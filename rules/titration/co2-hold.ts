import type { TitrationChemistry } from './acid-balance.ts';
import { usualDicOverAlkalinity } from './alkalinity-fit.ts';
import { alkalinityFromAcidToPh } from './fixed-end-point.ts';
import { type BeakerReading, mixing_ms } from './probe-at-rest.ts';

/** How the CO2 is driven out of the beaker. */
export const airings = ['bubbled', 'stirred'] as const;
export type Airing = (typeof airings)[number];

/**
 * How long acidified seawater needs to lose its CO2. Stirring in an open vessel: 6 minutes, as SOP 3b has it (from memory); with air
 * bubbled through it: common practice, no published source.
 */
const shortest_ms: Record<Airing, number> = { bubbled: 4 * 60_000, stirred: 6 * 60_000 };
/** After that a rise is the probe's and not the water's. Common practice, no published source */
const longest_ms = 15 * 60_000;
/** CO2 has left when pH rises by no more than this in a minute. Chosen here: 0.01 is the last digit of most meters. */
const stillRises_ph = 0.01;
const minute_ms = 60_000;

/**
 * What may be left, by the share that was seen to leave. Much leaves unseen while a portion goes in. In simulated beakers 0.45 to 0.9
 * was seen where CO2 left within two minutes, and 0.1 to 0.4 where it took most of an hour: from the first of these down all of it may
 * still be there, from the second up no more than a tenth (of a wait of more than two such times). Chosen here, by those.
 */
const seenWhereItStays = 0.3;
const seenWhereItLeaves = 0.6;
const leftAfterGoodHold = 0.1;

/** From here down a good share of the inorganic carbon is CO2 that can leave: half of it at 5.9, the pK of Lueker et al. 2000. */
export const carbonateTellsFrom_ph = 6.5;

export type Co2Hold = {
  /** False while it is better to wait. */
  isOver: boolean;
  waited_ms: number;
  shortest_ms: number;
  /** Since the lowest after the acid, pH. */
  risen_ph: number;
  /** Of the CO2, 0 to 1: what was seen to leave. */
  seenShare: number;
  /** Ended by a person before the time. */
  isCutShort: boolean;
  /** Of the CO2, 0 to 1: what may still be in the water. */
  leftAtMost: number;
};

/**
 * The beaker at the acid with which it waits. `before`: the last amount of acid with which it was between pH 4.4 and 6.5, where the
 * carbonate still says how much of it is there.
 */
export type HeldBeaker = {
  chemistry: TitrationChemistry;
  sample_g: number;
  acid_mol_kg: number;
  acid_g: number;
  before: { acid_g: number; ph: number } | undefined;
};

/**
 * How far the CO2 of an acidified sample has left, by the pH that rises as it goes.
 *
 * @param readings  since the acid went in, oldest first
 * @param untilMs   the next acid, or a person who goes on; now while it lasts
 * @param isEnded   true when the acid or the person ended it
 * @param found     by the fit of the points after it
 */
export function co2Hold(
  beaker: HeldBeaker,
  readings: readonly BeakerReading[],
  sinceMs: number,
  untilMs: number,
  isEnded: boolean,
  airing: Airing,
  found?: FoundByFit,
): Co2Hold {
  const waited_ms = untilMs - sinceMs;
  const blocks = tenSecondMeans(readings.filter(({ timeMs }) => timeMs >= sinceMs + mixing_ms && timeMs <= untilMs));
  const [last, lowest] = [blocks.at(-1)?.ph, Math.min(...blocks.map(({ ph }) => ph))];
  const before = blocks.findLast(({ timeMs }) => timeMs <= untilMs - minute_ms)?.ph;
  const isRising = last === undefined || before === undefined || last - before > stillRises_ph;
  const isLongEnough = waited_ms >= shortest_ms[airing];
  const seenShare = last === undefined ? 0 : shareSeen(beaker, lowest, last, found);
  return {
    isOver: isEnded || (isLongEnough && (!isRising || waited_ms >= longest_ms)),
    waited_ms,
    shortest_ms: shortest_ms[airing],
    risen_ph: last === undefined ? 0 : last - lowest,
    seenShare,
    isCutShort: isEnded && !isLongEnough,
    leftAtMost: isLongEnough ? leftBySeen(seenShare) : 1,
  };
}

function leftBySeen(seenShare: number): number {
  const share = (seenWhereItLeaves - seenShare) / (seenWhereItLeaves - seenWhereItStays);
  return Math.min(1, Math.max(leftAfterGoodHold, share));
}

/** What the fit of the points found, once there is one. */
export type FoundByFit = { totalAlkalinity_umol_kg: number; offset_ph: number };

/**
 * The share of the CO2 that left while somebody looked: the inorganic carbon at a moment is what that moment's pH lacks of the
 * alkalinity. The alkalinity is that of the fit; before there is one, that of the last pH with no CO2 left.
 */
function shareSeen(beaker: HeldBeaker, lowest_ph: number, last_ph: number, found: FoundByFit | undefined): number {
  const { before, acid_g } = beaker;
  const offset_ph = found?.offset_ph ?? 0;
  const alkalinity_umol_kg = found?.totalAlkalinity_umol_kg ?? alkalinityWith(beaker, acid_g, last_ph, 0);
  const whole_umol_kg = usualDicOverAlkalinity * alkalinity_umol_kg;
  if (!(whole_umol_kg > 0)) return 0;
  const shareAt = (acid: number, ph: number) => {
    const bare = alkalinityWith(beaker, acid, ph - offset_ph, 0);
    const perCarbon = (alkalinityWith(beaker, acid, ph - offset_ph, whole_umol_kg) - bare) / whole_umol_kg;
    return (alkalinity_umol_kg - bare) / perCarbon / whole_umol_kg;
  };
  const within = (share: number) => Math.min(1, Math.max(0, share));
  const beforeHold = before === undefined ? 0 : within(1 - shareAt(before.acid_g, before.ph));
  return Math.min(1, beforeHold + within(shareAt(acid_g, lowest_ph) - shareAt(acid_g, last_ph)));
}

function alkalinityWith(beaker: HeldBeaker, acid_g: number, ph: number, dic_umol_kg: number): number {
  const { chemistry, sample_g, acid_mol_kg } = beaker;
  const carbon = { kind: 'closed' as const, dic_umol_kg };
  const asked_ph = Math.min(10, Math.max(2.5, ph));
  return alkalinityFromAcidToPh({ chemistry, sample_g, acid_mol_kg, carbon }, acid_g, asked_ph);
}

/** Means of what came within ten seconds, so that noise does not look like the lowest point. */
function tenSecondMeans(readings: readonly BeakerReading[]): BeakerReading[] {
  const blocks = new Map<number, BeakerReading[]>();
  for (const reading of readings) {
    const block = Math.floor(reading.timeMs / 10_000);
    blocks.set(block, [...(blocks.get(block) ?? []), reading]);
  }
  return [...blocks.values()].map((block) => ({
    timeMs: block.at(-1)!.timeMs,
    ph: block.reduce((sum, { ph }) => sum + ph, 0) / block.length,
  }));
}
