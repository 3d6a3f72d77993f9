import { type DemandAnalyte, demandAnalytes } from '#rules/trend/demand-facts.ts';
import type { LearnedVolume } from '#rules/trend/learned-volume.ts';

const digits = (statedL: number): number => (statedL < 100 ? 1 : 0);

/** `340 ± 25`, half the width of the 95 % interval behind it. */
export function learnedLitres(statedL: number, { ratio, low95, high95 }: LearnedVolume): string {
  const litres = (share: number): string => (share * statedL).toFixed(digits(statedL));
  return `${litres(ratio)} ± ${litres((high95 - low95) / 2)}`;
}

/** What doses and tests say of a stated volume, in words; every dose hangs on it. */
export function volumeWords(
  statedL: number,
  learned: LearnedVolume | undefined,
  byAnalyte: Partial<Record<DemandAnalyte, LearnedVolume>>,
  isOff: boolean,
): string {
  const stated = `${statedL.toFixed(digits(statedL))} L stated`;
  if (learned === undefined) return `${stated}. Too few tests to say whether it fits.`;
  if (!learned.isLearned)
    return `${stated}. Your doses are too even to say whether it fits: a single correction with a test before and after would show it.`;
  const parts = [`${stated}, ${learnedLitres(statedL, learned)} by your doses.`];
  const told = demandAnalytes.flatMap((analyte) => {
    const one = byAnalyte[analyte];
    return one?.isLearned ? [{ analyte, one }] : [];
  });
  const high = told.toSorted((a, b) => b.one.low95 - a.one.low95)[0];
  const low = told.toSorted((a, b) => a.one.high95 - b.one.high95)[0];
  if (high !== undefined && low !== undefined && high.one.low95 > low.one.high95)
    parts.push(
      `But ${low.analyte} says ${learnedLitres(statedL, low.one)} L and ${high.analyte} ${learnedLitres(statedL, high.one)} L: a stock that is not as strong as written does that, not the volume. Check both stocks first.`,
    );
  else if (isOff)
    parts.push(
      `Every dose is calculated for the stated volume, so each moves the water ${learned.ratio < 1 ? 'more' : 'less'} than it should. Measure the volume and check the strength of the stocks, then set volume_l.`,
    );
  else parts.push('It fits.');
  return parts.join(' ');
}
