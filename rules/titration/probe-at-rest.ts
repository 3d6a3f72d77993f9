/** One reading of the pH probe in the beaker, as calibrated. */
export type BeakerReading = { timeMs: number; ph: number };

/** What the readings since the last acid say of the probe. */
export type ProbeAtRest =
  /** Nothing came lately: unplugged, or its board is away. */
  | { state: 'silent' }
  | { state: 'too_few'; readings: number }
  /** `change_ph`: newest half less the half before it. `sd_ph`: of the mean `ph`, by the scatter of the newest half. */
  | { state: 'moving' | 'at_rest'; ph: number; sd_ph: number; scatter_ph: number; change_ph: number; readings: number };

/** Acid must mix before a reading speaks for the whole beaker. Common practice, no published source */
export const mixing_ms = 10_000;
/** A slower probe than this is not told from one that is unplugged. Common practice, no published source */
const silentAfter_ms = 60_000;
/** Each of the two halves that are compared. Common practice, no published source */
const half_ms = 10_000;
const fewestOfHalf = 3;
/**
 * Most that the mean may still move from one half to the next, pH. A glass electrode that nears its end by an exponential with 15 s
 * is then 0.005 away from it, the same way at each point, which the fit takes for its offset. Chosen here, for that reason.
 */
const stillMoves_ph = 0.005;

/**
 * Whether the probe has come to rest: the mean of its newest readings is that of those just before, as well as their scatter lets
 * it be told.
 *
 * @param readings  oldest first, all of the same acid
 * @param sinceMs   when the acid went in
 * @param most_ph   most that it may still move between halves of ten seconds, pH, above 0; unless given that of a point that counts
 */
export function probeAtRest(
  readings: readonly BeakerReading[],
  sinceMs: number,
  nowMs: number,
  most_ph = stillMoves_ph,
): ProbeAtRest {
  const newest = readings.at(-1);
  // The probe may not have been heard at all since the acid, which is silence only after a while.
  if (nowMs - Math.max(newest?.timeMs ?? sinceMs, sinceMs) > silentAfter_ms) return { state: 'silent' };
  const mixed = readings.filter(({ timeMs }) => timeMs >= sinceMs + mixing_ms);
  const late = newestHalf(mixed);
  const early = late && newestHalf(mixed.slice(0, mixed.length - late.length));
  if (!late || !early) return { state: 'too_few', readings: mixed.length };
  const [after, before] = [spreadOf(late), spreadOf(early)];
  const change_ph = after.mean - before.mean;
  const doubt_ph = Math.hypot(after.sdOfMean, before.sdOfMean);
  return {
    state: Math.abs(change_ph) <= Math.max(most_ph, 2 * doubt_ph) ? 'at_rest' : 'moving',
    ph: after.mean,
    sd_ph: after.sdOfMean,
    scatter_ph: after.sd,
    change_ph,
    readings: mixed.length,
  };
}

/** The fewest of the newest that cover the time of a half. */
function newestHalf(readings: readonly BeakerReading[]): BeakerReading[] | undefined {
  const endMs = readings.at(-1)?.timeMs ?? 0;
  for (let from = readings.length - fewestOfHalf; from >= 0; from -= 1) {
    if (endMs - readings[from]!.timeMs >= half_ms) return readings.slice(from);
  }
  return undefined;
}

function spreadOf(readings: readonly BeakerReading[]): { mean: number; sd: number; sdOfMean: number } {
  const mean = readings.reduce((sum, { ph }) => sum + ph, 0) / readings.length;
  const sd = Math.sqrt(readings.reduce((sum, { ph }) => sum + (ph - mean) ** 2, 0) / (readings.length - 1));
  return { mean, sd, sdOfMean: sd / Math.sqrt(readings.length) };
}
