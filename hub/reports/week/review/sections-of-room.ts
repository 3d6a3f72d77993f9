import type { ReviewFigures } from '../../../model/answers/review-schema.ts';
import { type Cell, cell, type Section, say, tableOr, words } from './document-parts.ts';
import { numberOf } from './figure.ts';
import { countWords, lengthWords, percentWords, plain, probeWords } from './figure-words.ts';
import { dayBars } from './plot-shape.ts';
import { reviewTimes } from './review-times.ts';

/** What the alarms, the corals and the probes did. */

export function alarmSection(figures: ReviewFigures): Section {
  const { alarms } = figures;
  const times = reviewTimes(figures);
  const rows: Cell[][] = [
    [cell('Alarms raised'), say(alarms.raised, String)],
    [cell('Alarms a day'), say(alarms.perDay, (value) => plain(value, 1))],
    [
      cell('High, medium, low'),
      say(alarms.byPriority.high, () =>
        (['high', 'medium', 'low'] as const).map((each) => numberOf(alarms.byPriority[each]) ?? 'unknown').join(', '),
      ),
    ],
    [
      cell('Time with an active alarm'),
      say(alarms.timeInAlarm, (share) => `${lengthWords(numberOf(alarms.standingMs) ?? 0)} (${percentWords(share)})`),
    ],
    [
      cell('Active longest'),
      say(
        alarms.longestMs,
        (ms) => `${alarms.longest ?? ''}, ${lengthWords(ms)}${alarms.longestStands ? ', still active' : ''}`,
      ),
    ],
    [
      cell('Came and went (twice in 8 h, or three times in 26 h)'),
      'absent' in alarms.raised
        ? { text: alarms.raised.absent, why: true }
        : cell(alarms.chattering.length === 0 ? 'none' : alarms.chattering.join('; ')),
    ],
    ...alarms.mostFrequent.map(({ words: text, raised }, index): Cell[] => [
      cell(`Most frequent, ${index + 1}`),
      cell(`${text}: ${countWords(raised, 'time')}`),
    ]),
  ];
  const plot = dayBars({
    words: 'Alarms raised on each day',
    days: alarms.perDate.map(({ date, raised }) => ({ name: times.dayOf(date), value: numberOf(raised) })),
    decimals: 0,
  });
  return {
    id: 'alarms',
    title: 'Alarms',
    parts: [
      { is: 'table', name: 'Alarms', head: ['Figure', 'This week'], rows },
      ...(plot === undefined
        ? []
        : [{ is: 'plots' as const, plots: [{ title: 'Alarms', detail: 'raised on each day', plot }] }]),
      words(
        'Figures as in IEC 62682 and ISA-18.2: an alarm raised again counts again; active time is time with at least one alarm.',
      ),
    ],
  };
}

export function coralSection(figures: ReviewFigures): Section {
  const { corals } = figures;
  const times = reviewTimes(figures);
  const rows = [
    ...corals.arrivals.map(({ timeMs, systemName, name, words: text }) => [
      cell(`${systemName}: ${name}`),
      cell('arrived'),
      cell(times.moment(timeMs)),
      cell(text === '' ? 'pieces not noted' : text),
    ]),
    ...corals.losses.map(({ timeMs, systemName, name, words: text }) => [
      cell(`${systemName}: ${name}`),
      { text: 'lost', bad: true as const },
      cell(times.moment(timeMs)),
      cell(`cause: ${text}`),
    ]),
  ];
  const kept = numberOf(corals.kept);
  const register =
    'absent' in corals.kept
      ? `${corals.kept.absent[0]?.toUpperCase() ?? ''}${corals.kept.absent.slice(1)}.`
      : `${countWords(kept ?? 0, 'piece')} in the register at the end of the week.`;
  return {
    id: 'corals',
    title: 'Arrivals and losses',
    parts: [
      tableOr('No arrivals or losses.', 'Arrivals and losses', ['What', 'Event', 'When', 'Detail'], rows),
      words(register),
    ],
  };
}

export function probeSection({ probes }: ReviewFigures): Section {
  const rows = probes.map((each) => {
    const every = numberOf(each.calibrateEveryDays);
    return [
      cell(`${each.systemName}: ${probeWords(each)}`),
      say(
        each.gaps,
        (count) => (count === 0 ? 'none' : `${count}, the longest ${lengthWords(numberOf(each.longestGapMs) ?? 0)}`),
        (count) => count > 0,
      ),
      say(each.failed, String, (count) => count > 0),
      say(
        each.calibrationAgeDays,
        (days) => `${Math.floor(days)} days${every === undefined ? '' : ` of ${every}`}`,
        (days) => every !== undefined && days > every,
      ),
      say(
        each.flatLines,
        (count) => (count === 0 ? 'none' : countWords(count, 'alarm')),
        (count) => count > 0,
      ),
      say(each.longestSameMs, (ms) => lengthWords(ms)),
    ];
  });
  const head = ['Probe', 'Gaps', 'Failed readings', 'Calibrated', 'Flat lines', 'Longest unchanged'];
  return {
    id: 'probes',
    title: 'Probe health',
    parts: [tableOr('No probes configured.', 'Probe health', head, rows)],
  };
}
