import { leastDifference35 } from '../../../judgement/estimate/past-salinity.ts';
import type { ReviewFigures, TestReview } from '../../../model/answers/review-schema.ts';
import { cell, type Section, say, tableOr, words } from './document-parts.ts';
import { type Figure, numberOf } from './figure.ts';
import {
  amountWords,
  bandWords,
  countWords,
  lengthWords,
  percentWords,
  plain,
  probeWords,
  signedWords,
} from './figure-words.ts';
import { dayBars, weekPlot } from './plot-shape.ts';
import { reviewTimes } from './review-times.ts';

/** What the water did, and what was done to it. */

export function bandSection(figures: ReviewFigures): Section {
  const times = reviewTimes(figures);
  const rows = figures.bands.map((each) => {
    const { systemName, unit, decimals, band } = each;
    const value = (figure: Figure) => say(figure, (number) => plain(number, decimals));
    return [
      cell(`${systemName}: ${probeWords(each)}`),
      band === null ? { text: 'no band is set', why: true as const } : cell(bandWords(band, unit)),
      say(
        each.shareInBand,
        (share) => percentWords(share),
        (share) => share < 1,
      ),
      say(each.minutesOutside, (minutes) => lengthWords(minutes * 60_000)),
      value(each.min),
      value(each.mean),
      value(each.max),
      say(each.shareHeard, (share) => percentWords(share)),
    ];
  });
  const plots = figures.bands.flatMap((each) => {
    if (each.band === null) return [];
    const { systemName, label, unit, decimals, band, hours } = each;
    const share = numberOf(each.shareInBand);
    const kept = share === undefined ? '' : `${percentWords(share)} in band`;
    const plot = weekPlot({
      words: `${probeWords(each)} of ${systemName}, hour by hour: ${kept}`,
      fromMs: figures.fromMs,
      toMs: figures.toMs,
      days: times.days,
      decimals,
      band,
      hours,
    });
    return plot === undefined
      ? []
      : [{ title: `${systemName}: ${label}`, detail: `${bandWords(band, unit)}; ${kept}`, plot }];
  });
  const head = ['What', 'Band', 'In band', 'Outside', 'Lowest', 'Mean', 'Highest', 'Signal'];
  return {
    id: 'bands',
    title: 'Bands kept',
    parts: [
      tableOr('No signal from any probe this week.', 'Time in band', head, rows),
      ...(plots.length === 0 ? [] : [{ is: 'plots' as const, plots }]),
      words(
        'Time in band: of the minutes with a reading, those whose mean lies inside the band. The ribbon spans the lowest to the highest reading of each hour.',
      ),
    ],
  };
}

export function swingSection(figures: ReviewFigures): Section {
  const times = reviewTimes(figures);
  const rows = figures.swings.map((each) => {
    const { systemName, unit, decimals, onDate, hourFromMs } = each;
    const most = { day: numberOf(each.mostPerDay), hour: numberOf(each.mostPerHour) };
    const amount = (value: number) => amountWords(value, unit, decimals);
    return [
      cell(`${systemName}: ${probeWords(each)}`),
      say(each.largestOfDay, amount, (value) => most.day !== undefined && value > most.day),
      onDate === null ? { text: 'no day', why: true as const } : cell(times.dayOf(onDate)),
      say(each.mostPerDay, amount),
      say(each.largestOfHour, amount, (value) => most.hour !== undefined && value > most.hour),
      hourFromMs === null ? { text: 'no hour', why: true as const } : cell(times.moment(hourFromMs)),
      say(each.mostPerHour, amount),
    ];
  });
  const plots = figures.swings.flatMap((each) => {
    const limit = numberOf(each.mostPerDay);
    if (limit === undefined) return [];
    const { systemName, label, unit, decimals } = each;
    const days = each.days.map(({ date, swing }) => ({ name: times.dayOf(date), value: numberOf(swing) }));
    const plot = dayBars({
      words: `Swing of ${label} in ${systemName} on each day, limit ${limit}`,
      days,
      limit,
      decimals,
    });
    return plot === undefined
      ? []
      : [{ title: `${systemName}: ${label}`, detail: `at most ${limit}${unit === '' ? '' : ` ${unit}`} a day`, plot }];
  });
  const head = ['What', 'Largest in a day', 'On', 'Limit a day', 'Largest in an hour', 'From', 'Limit an hour'];
  return {
    id: 'swings',
    title: 'Swings',
    parts: [
      tableOr('No signal from any probe this week.', 'Swings', head, rows),
      ...(plots.length === 0 ? [] : [{ is: 'plots' as const, plots }]),
      words('A swing is the highest minus the lowest five-minute median, within a calendar day and within 60 minutes.'),
    ],
  };
}

export function demandSection(figures: ReviewFigures): Section {
  const times = reviewTimes(figures);
  const rows = figures.demand.map((each) => {
    const { systemName, label, unit, decimals } = each;
    const [low, high] = [numberOf(each.low95), numberOf(each.high95)];
    return [
      cell(`${systemName}: ${label}`),
      say(each.perDay, (value) => `${amountWords(value, unit, decimals)} a day`),
      low === undefined || high === undefined
        ? { text: 'no estimate', why: true as const }
        : cell(`${plain(low, decimals)} to ${plain(high, decimals)}`),
      say(each.change, (value) => signedWords(value, decimals)),
      say(each.dosedPerDay, (value) => `${amountWords(value, unit, decimals)} a day`),
    ];
  });
  const plots = figures.demand.flatMap(({ systemName, label, unit, decimals, days }) => {
    const plot = weekPlot({
      words: `What the corals of ${systemName} use of ${label} in a day, with its 95 % interval`,
      fromMs: figures.fromMs,
      toMs: figures.toMs,
      days: times.days,
      decimals: Math.max(1, decimals),
      estimate: days.map(({ timeMs, perDay, low95, high95 }) => ({ timeMs, value: perDay, low: low95, high: high95 })),
    });
    return plot === undefined || days.length < 2
      ? []
      : [{ title: `${systemName}: ${label}`, detail: `${unit} a day, with its 95 % interval`, plot }];
  });
  const head = ['What', 'Use at the end', '95 % interval', 'Change over the week', 'Raised by doses'];
  return {
    id: 'demand',
    title: 'Demand',
    parts: [
      tableOr('No tests to estimate the use from.', 'Demand', head, rows),
      ...(plots.length === 0 ? [] : [{ is: 'plots' as const, plots }]),
    ],
  };
}

export function doseSection({ doses }: ReviewFigures): Section {
  const rows = doses.map(({ systemName, what, unit, times, entered, byPlan }) => [
    cell(`${systemName}: ${what}`),
    say(entered, (value) => `${amountWords(value, unit, value < 10 ? 1 : 0)}, ${countWords(times, 'time')}`),
    say(byPlan, (value) => amountWords(value, unit, value < 10 ? 1 : 0)),
  ]);
  return {
    id: 'doses',
    title: 'Doses',
    parts: [tableOr('No doses or water changes logged.', 'Doses', ['What', 'Entered', 'By the standing plan'], rows)],
  };
}

const verdictWords: Record<TestReview['tests'][number]['verdict'], string> = {
  sound: '',
  refuted: ' (refuted by the next test)',
  in_doubt: ' (in doubt until the next test)',
  not_judged: '',
};

/** Said only where it makes a difference that is seen. */
function at35Words(value: number, valueAt35: number | null, decimals: number): string {
  if (valueAt35 === null || Math.abs(valueAt35 / value - 1) < leastDifference35) return '';
  return ` (${plain(valueAt35, decimals)} at salinity 35)`;
}

export function testSection(figures: ReviewFigures): Section {
  const times = reviewTimes(figures);
  const rows = figures.tests.map((each) => {
    const { systemName, label, unit, decimals, done, uncertaintyBy, tests } = each;
    return [
      cell(`${systemName}: ${label}`),
      done === 0
        ? { text: 'none', why: true as const }
        : cell(
            tests
              .map(
                ({ value, valueAt35, verdict }) =>
                  `${plain(value, decimals)}${at35Words(value, valueAt35, decimals)}${verdictWords[verdict]}`,
              )
              .join(', ') + (unit === '' ? '' : ` ${unit}`),
          ),
      say(each.missing, String, (value) => value > 0),
      say(
        each.uncertainty,
        (value) =>
          `± ${amountWords(value, unit, decimals + 1)}, ${uncertaintyBy === 'stated' ? 'as stated' : 'learned from the tests'}`,
      ),
      say(each.outliers, String, (value) => value > 0),
      say(
        each.shareInBand,
        (share) => percentWords(share),
        (share) => share < 1,
      ),
      each.lastMs === null ? { text: 'never tested', why: true as const } : cell(times.moment(each.lastMs)),
    ];
  });
  const plots = figures.tests.flatMap(({ systemName, label, unit, decimals, band, tests }) => {
    const plot = weekPlot({
      words: `Tests of ${label} in ${systemName}, each with two standard uncertainties either side where it states one`,
      fromMs: figures.fromMs,
      toMs: figures.toMs,
      days: times.days,
      decimals,
      tests,
      band: band ?? undefined,
    });
    return plot === undefined
      ? []
      : [{ title: `${systemName}: ${label}`, detail: band === null ? 'no band is set' : bandWords(band, unit), plot }];
  });
  const head = ['What', 'Tests', 'Missing', 'Uncertainty per test', 'Outliers', 'In band', 'Last tested'];
  return {
    id: 'tests',
    title: 'Tests and their quality',
    parts: [
      tableOr('No tests done, and none expected.', 'Tests', head, rows),
      ...(plots.length === 0 ? [] : [{ is: 'plots' as const, plots }]),
    ],
  };
}
