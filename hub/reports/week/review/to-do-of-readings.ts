import { dayMs } from '#rules/clock/durations.ts';
import type { ToDo } from '../../../model/answers/review-schema.ts';
import { numberOf } from './figure.ts';
import { amountWords, bandWords, inSentence, lengthWords, percentWords } from './figure-words.ts';
import type { ReviewSpan } from './review-span.ts';
import type { ToDoSources } from './to-do-sources.ts';

/** Feeding, a lid, a hand in the water: an hour in a week outside is no task. common practice, no published source */
const leastMinutesOutside = 60;
/** A probe that was heard for less of the week has a fault to find. common practice, no published source */
const leastHeardShare = 0.9;
/** Heard within so many days before the week: it is no new probe. */
const knownBeforeDays = 30;

/** Bands and swings that readings left, and bands that the last test is outside of. */
export function bandsNotKept({ bands, swings, tests }: ToDoSources): ToDo[] {
  const outside = bands.flatMap((review): ToDo[] => {
    const { system, systemName, label, unit, decimals, band, name } = review;
    const minutes = numberOf(review.minutesOutside);
    const share = numberOf(review.shareInBand);
    if (band === null || minutes === undefined || share === undefined || minutes < leastMinutesOutside) return [];
    const [min, max] = [numberOf(review.min), numberOf(review.max)];
    const reach =
      min === undefined || max === undefined
        ? ''
        : `; it ranged from ${min.toFixed(decimals)} to ${amountWords(max, unit, decimals)}`;
    return [
      {
        kind: 'band',
        system,
        systemName,
        what: `Find out why ${inSentence(label)} left its band`,
        short: `find why ${inSentence(label)} left its band`,
        reason: `outside ${bandWords(band, unit)} for ${lengthWords(minutes * 60_000)}${name === null ? '' : ` by ${name}`} (${percentWords(share)} of the time inside)${reach}`,
      },
    ];
  });
  const swung = swings.flatMap((review): ToDo[] => {
    const { system, systemName, label, unit, decimals } = review;
    const [swing, most] = [numberOf(review.largestOfDay), numberOf(review.mostPerDay)];
    if (swing === undefined || most === undefined || swing <= most) return [];
    return [
      {
        kind: 'band',
        system,
        systemName,
        what: `Find out why ${inSentence(label)} swung so far`,
        short: `find why ${inSentence(label)} swung`,
        reason: `${amountWords(swing, unit, decimals)} on ${review.onDate ?? 'one day'}, the limit is ${most} a day`,
      },
    ];
  });
  const tested = tests.flatMap((review): ToDo[] => {
    const { system, systemName, label, unit, decimals, band } = review;
    const last = review.tests.at(-1);
    if (band === null || last === undefined || last.verdict === 'refuted') return [];
    if (last.value >= band.low && last.value <= band.high) return [];
    return [
      {
        kind: 'band',
        system,
        systemName,
        what: `Bring ${inSentence(label)} back into its band`,
        short: `bring ${inSentence(label)} back`,
        reason: `the last test gave ${amountWords(last.value, unit, decimals)}, the band is ${bandWords(band, unit)}`,
      },
    ];
  });
  return [...outside, ...swung, ...tested];
}

/** Bands say nothing of a time in which nobody watched. */
export function probesNotHeard({ config, store, bands }: ToDoSources, span: ReviewSpan): ToDo[] {
  return bands.flatMap(({ system, systemName, metric, label, probe, name, shareHeard }): ToDo[] => {
    const heard = numberOf(shareHeard);
    // What is derived from a reading is silent with it.
    const isOwn = config.probes.some((each) => each.id === probe && each.metric === metric);
    if (!isOwn || heard === undefined || heard >= leastHeardShare) return [];
    const before = store.summaries(
      { system, metric, probe },
      'day',
      span.fromMs - knownBeforeDays * dayMs,
      span.fromMs,
    );
    if (before.length === 0) return [];
    return [
      {
        kind: 'probe',
        system,
        systemName,
        what: `Find out why the ${inSentence(label)} probe${name === null ? '' : ` ${name}`} was silent`,
        short: `find why the ${inSentence(label)} probe was silent`,
        reason: `signal for ${percentWords(heard, 0)} of the week`,
      },
    ];
  });
}
