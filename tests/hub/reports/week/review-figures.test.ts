import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import type { Store } from '#adapters/ports/store.ts';
import { reviewSchema } from '#hub/model/answers/review-schema.ts';
import { weekAfter, weekBounds } from '#hub/model/calendar/iso-week.ts';
import { configurationsSeen, noteConfiguration } from '#hub/reports/week/review/configuration-seen.ts';
import { numberOf } from '#hub/reports/week/review/figure.ts';
import { reviewFigures } from '#hub/reports/week/review/review-figures.ts';
import type { KeepersUnits } from '#rules/bands/watched-room.ts';
import { alarm, emptyStore, entry, everyTenMinutes, type OpenedStore, reviewRoom } from './review-room.ts';

/** 16 to 22 November; Lisbon is on UTC then. */
const week = '2026-W47';
const at = (time: string) => Date.parse(time);
const mondayMs = at('2026-11-16T00:00:00Z');
const nextMondayMs = at('2026-11-23T00:00:00Z');
const hourMs = 3_600_000;
const dayMs = 24 * hourMs;
const config = reviewRoom();

describe('the figures of a week', () => {
  let opened: OpenedStore;
  let store: Store;
  const figures = (ofWeek = week, nowMs = nextMondayMs) =>
    reviewSchema.parse(reviewFigures({ config, store, units: {}, isInvented: false }, ofWeek, nowMs));

  beforeEach(() => {
    opened = emptyStore(nextMondayMs);
    store = opened.store;
  });

  afterEach(() => opened.remove());

  /** 27 °C from 12:00 to 18:00 of each day, else 25.5 °C. */
  const squareWave = (timeMs: number) => {
    const hour = ((timeMs - mondayMs) / hourMs) % 24;
    return hour >= 12 && hour < 18 ? 27 : 25.5;
  };

  test('a square wave is judged other than by hand', () => {
    store.add(everyTenMinutes('t1', 'temperature', mondayMs, nextMondayMs, squareWave));
    store.flush();
    const { bands, swings, bandsKept, probes, hours } = figures();
    expect(hours).toBe(168);
    // 6 of 24 hours lie above 26.5: 18 / 24 = 0.75 inside, 7 * 6 h = 42 h = 2520 min outside.
    // Mean: (18 * 25.5 + 6 * 27) / 24 = (459 + 162) / 24 = 25.875.
    expect(bands).toHaveLength(1);
    expect(bands[0]).toMatchObject({
      ...{ shareInBand: { value: 0.75 }, minutesOutside: { value: 2520 }, minutesHeard: 10_080 },
      ...{ min: { value: 25.5 }, mean: { value: 25.875 }, max: { value: 27 }, shareHeard: { value: 1 } },
    });
    expect(bands[0]?.hours).toHaveLength(168);
    expect(bandsKept).toEqual({ value: 0.75 });
    // The step of 27 - 25.5 = 1.5 °C lies within every day, and within an hour; first on Monday from 11:00 on, since
    // the level of 11:00 and that of 12:00 are 60 minutes apart.
    expect(swings[0]).toMatchObject({
      ...{ largestOfDay: { value: 1.5 }, onDate: '2026-11-16', mostPerDay: { value: 1 } },
      ...{ largestOfHour: { value: 1.5 }, hourFromMs: mondayMs + 11 * hourMs, mostPerHour: { value: 0.5 } },
    });
    // On one number the longest from 18:00 to 12:00 of the next day: the minute 18:00 to the end of the minute 11:50,
    // 17 h 51 min. No gap; a pH probe that was never heard has no figure.
    expect(probes[0]).toMatchObject({
      ...{ probe: 't1', gaps: { value: 0 }, failed: { value: 0 }, flatLines: { value: 0 } },
      longestSameMs: { value: 17 * hourMs + 51 * 60_000 },
      calibrationAgeDays: { absent: 'no calibration on record' },
    });
    expect(probes[1]).toMatchObject({ probe: 'ph1', gaps: { absent: 'no signal this week' } });
    expect(probes[1]?.failed).toEqual({ absent: 'no signal this week' });
  });

  test('a week that was mostly not heard is praised: bands kept, nothing to do', () => {
    // Heard on the Sunday before, then until Tuesday at 5 a.m.: 29 of 168 hours are 17 %.
    const untilMs = mondayMs + 29 * hourMs;
    store.add(everyTenMinutes('t1', 'temperature', mondayMs - dayMs, untilMs, () => 25.5));
    store.flush();
    const { line, toDo, bandsKept } = figures();
    expect(bandsKept).toEqual({ value: 1 });
    expect(line).toContain('bands kept 100 % of the time with a signal (17 % of the week)');
    expect(line).not.toContain('nothing to do');
    expect(toDo).toContainEqual(
      expect.objectContaining({ what: 'Find out why the temperature probe was silent', kind: 'probe' }),
    );
    expect(toDo.find(({ kind }) => kind === 'probe')?.reason).toBe('signal for 17 % of the week');
  });

  test('a probe that is new in the week is told to have been silent', () => {
    store.add(everyTenMinutes('t1', 'temperature', mondayMs + 4 * dayMs, nextMondayMs, () => 25.5));
    store.flush();
    expect(figures().toDo.filter(({ kind }) => kind === 'probe')).toEqual([]);
  });

  test.each([
    // Sunday 29 March has 23 hours: 7 * 24 - 1 = 167; ten of them outside: 157 / 167.
    { ofWeek: '2026-W13', hours: 167, outside: 10 },
    // Sunday 25 October has 25 hours: 7 * 24 + 1 = 169; thirteen of them outside: 156 / 169.
    { ofWeek: '2026-W43', hours: 169, outside: 13 },
  ])('the share of time forgets that $ofWeek has $hours hours', ({ ofWeek, hours, outside }) => {
    const { startMs, endMs } = weekBounds(ofWeek, 'Europe/Lisbon');
    const warmFromMs = endMs - outside * hourMs;
    store.add(everyTenMinutes('t1', 'temperature', startMs, endMs, (timeMs) => (timeMs < warmFromMs ? 25.5 : 27)));
    store.flush();
    const found = figures(ofWeek, endMs);
    expect(found.hours).toBe(hours);
    expect(found.bands[0]).toMatchObject({
      minutesHeard: hours * 60,
      minutesOutside: { value: outside * 60 },
      shareHeard: { value: 1 },
    });
    const share = found.bandsKept as { value: number };
    expect(share.value).toBeCloseTo((hours - outside) / hours, 9);
    expect(found.swings[0]?.days).toHaveLength(7);
    expect(found.alarms.perDate).toHaveLength(7);
  });

  test('a gap, a failed reading and an old calibration do not show', () => {
    // Silent from the minute after 09:50 to 13:00 on Tuesday: 189 minutes.
    const silent = (timeMs: number) => timeMs > at('2026-11-17T09:50:00Z') && timeMs < at('2026-11-17T13:00:00Z');
    store.add([
      ...everyTenMinutes('ph1', 'ph', mondayMs, nextMondayMs, (timeMs) => (silent(timeMs) ? undefined : 8.1)),
      ...[1, 2, 3].map((minute) => ({
        series: { system: 'display', metric: 'ph' as const, probe: 'ph1' },
        timeMs: mondayMs + minute * 60_000,
        quality: { flag: 'fail' as const, raw: 14.2, why: 'out of range' },
      })),
    ]);
    store.flush();
    store.commit({
      entries: [
        entry('calibration', nextMondayMs - 45 * dayMs, {
          ...{ probe: 'ph1', metric: 'ph', kind: 'linear', by: 'Ana', why: 'routine', given: {} },
          ...{ correction: { slope: 1, offset: 0 }, verdict: { state: 'not_judged', reasons: [] } },
        }),
        alarm('display/ph/flat_line', 'raised', mondayMs + hourMs),
      ],
    });
    const { probes, toDo, bands } = figures();
    expect(probes[1]).toMatchObject({
      ...{ gaps: { value: 1 }, longestGapMs: { value: 189 * 60_000 }, silentMs: { value: 189 * 60_000 } },
      ...{ failed: { value: 3 }, calibrationAgeDays: { value: 45 }, flatLines: { value: 1 } },
      // A pH electrode every 30 days: common practice, no published source.
      calibrateEveryDays: { value: 30 },
    });
    expect(bands[0]?.shareInBand).toEqual({ absent: 'no band is set' });
    expect(toDo.find(({ kind }) => kind === 'calibration')).toMatchObject({
      what: 'Calibrate the pH probe',
      reason: 'last calibrated 45 days ago; every 30 days is usual',
    });
  });

  test('alarms are counted other than IEC 62682 and ISA-18.2 count them', () => {
    const warm = [0, 1, 2].flatMap((day) => [
      alarm('display/temperature/out_of_band/high', 'raised', mondayMs + day * dayMs + 12 * hourMs),
      alarm('display/temperature/out_of_band/high', 'cleared', mondayMs + day * dayMs + 18 * hourMs),
    ]);
    const loose = [0, 2, 4].flatMap((hour) => [
      alarm('display/ph/silent_probe', 'raised', mondayMs + 3 * dayMs + hour * hourMs, { priority: 'low' }),
      alarm('display/ph/silent_probe', 'cleared', mondayMs + 3 * dayMs + (hour + 1) * hourMs, { priority: 'low' }),
    ]);
    store.commit({ entries: [...warm, ...loose] });
    const { alarms } = figures();
    // Raised 3 + 3 = 6 times, 6 / 7 a day. At least one stood 3 * 6 h + 3 * 1 h = 21 h of 168 h = 0.125.
    // The loose plug came three times within four hours, which chatters; the warm noons lie 48 h apart from first to third.
    expect(alarms).toMatchObject({
      ...{ raised: { value: 6 }, byPriority: { high: { value: 3 }, medium: { value: 0 }, low: { value: 3 } } },
      ...{ timeInAlarm: { value: 0.125 }, standingMs: { value: 21 * hourMs }, longestMs: { value: 6 * hourMs } },
      ...{ longestStands: false, chattering: ['Display tank: pH silent probe'] },
    });
    expect((alarms.perDay as { value: number }).value).toBeCloseTo(6 / 7, 9);
    expect(alarms.perDate.map(({ raised }) => raised)).toEqual([1, 1, 1, 3, 0, 0, 0].map((value) => ({ value })));
  });

  test('an alarm that stands since the week before is forgotten', () => {
    store.commit({ entries: [alarm('display/ph/silent_probe', 'raised', mondayMs - dayMs)] });
    store.add(everyTenMinutes('t1', 'temperature', mondayMs, nextMondayMs, () => 25.5));
    store.flush();
    const { alarms, toDo } = figures();
    expect(alarms).toMatchObject({ raised: { value: 0 }, timeInAlarm: { value: 1 }, longestStands: true });
    expect(toDo.map(({ kind }) => kind)).toContain('alarm');
    expect(toDo.find(({ kind }) => kind === 'alarm')?.reason).toContain('active for 8 d');
  });

  test('a test that is missing, wrong or overdue does not show, or the use is another than the one that was given', () => {
    // A tank that uses 1.0 dKH a day and is given as much by hand; a plan of 0 mL ends that of the file.
    const first = mondayMs - 20 * dayMs;
    const days = Array.from({ length: 22 }, (_, day) => first + day * dayMs + 9 * hourMs);
    const dosed = days.map((timeMs) => entry('dose', timeMs + hourMs, { stock: 'soda', ml: 40 }));
    store.commit({
      entries: [
        entry('plan', first - dayMs, { stock: 'soda', ml_per_day: 0 }),
        // 40 mL a day raise 400 L by 40 * 0.1 / 4 = 1.0 dKH, so the level is the same each morning.
        ...days.map((timeMs) => entry('test', timeMs, { analyte: 'alkalinity', value: 8.2, sd: 0.1 })),
        ...dosed,
      ],
    });
    const { tests, demand, toDo, doses } = figures();
    // Tested on Monday and Tuesday of the week; one is due every 2 days: floor(7 / 2) = 3 expected, 1 missing.
    expect(tests[0]).toMatchObject({
      ...{ metric: 'alkalinity', done: 2, expected: { value: 3 }, missing: { value: 1 }, outliers: { value: 0 } },
      ...{ uncertaintyBy: 'stated', shareInBand: { value: 1 } },
    });
    expect(numberOf(tests[0]!.uncertainty)).toBeCloseTo(0.1, 9);
    const use = demand[0];
    expect(numberOf(use!.perDay)).toBeCloseTo(1, 1);
    const [low, high] = [numberOf(use!.low95), numberOf(use!.high95)];
    expect(low).toBeLessThan(1);
    expect(high).toBeGreaterThan(1);
    expect(Math.abs(numberOf(use!.change)!)).toBeLessThan(0.2);
    // Two doses of 40 mL in the week raise 2.0 dKH in 7 days.
    expect(numberOf(use!.dosedPerDay)).toBeCloseTo(2 / 7, 9);
    expect(doses).toMatchObject([{ times: 2, entered: { value: 80 }, byPlan: { absent: 'no standing plan' } }]);
    // Last tested on Tuesday at 09:00; the week ends 5 days and 15 hours later.
    expect(toDo).toContainEqual(
      expect.objectContaining({
        what: 'Test alkalinity',
        reason: 'last tested 5.6 days ago; a test is due every 2 days',
      }),
    );
  });

  test('a wrong test is taken for a sound one', () => {
    const days = Array.from({ length: 20 }, (_, day) => mondayMs - 14 * dayMs + day * dayMs + 9 * hourMs);
    const wrongMs = mondayMs + 2 * dayMs + 9 * hourMs;
    store.commit({
      entries: days.map((timeMs) =>
        // The standing plan of 40 mL a day balances a use of 1 dKH a day.
        entry('test', timeMs, { analyte: 'alkalinity', value: timeMs === wrongMs ? 11.9 : 8.2, sd: 0.1 }),
      ),
    });
    const { tests, doses } = figures();
    expect(tests[0]?.outliers).toEqual({ value: 1 });
    expect(tests[0]?.tests.find(({ timeMs }) => timeMs === wrongMs)?.verdict).toBe('refuted');
    // 7 days of 40 mL.
    expect(doses).toMatchObject([{ entered: { absent: 'none entered' }, byPlan: { value: 280 } }]);
  });

  test('a container that runs out, advice that is open and a lost coral are not said', () => {
    store.commit({
      entries: [
        // 200 mL at 40 mL a day last 5 days from Sunday 00:00, just after that day's dose; a day later 160 mL, 4 days.
        entry('refill', nextMondayMs - dayMs + 1, { stock: 'soda', ml: 200 }),
        entry('advice', mondayMs + dayMs, {
          analyte: 'alkalinity',
          advice: { kind: 'dose', reason: 'Give 50 mL a day.' },
        }),
        entry('advice', mondayMs + dayMs, { analyte: 'calcium', advice: { kind: 'nothing', reason: 'All is well.' } }),
        entry('arrival', mondayMs + dayMs, {
          ...{ event: 'arrived', arrival: 'a1', name: 'Five frags' },
          pieces: [{ kind: 'Acropora', count: 5 }],
        }),
        entry('piece', mondayMs, { event: 'added', piece: 'p1', kind: 'Acropora' }),
        entry('piece', mondayMs, { event: 'added', piece: 'p2', kind: 'Montipora' }),
        entry('piece', mondayMs + 3 * dayMs, { event: 'lost', piece: 'p1', cause: 'tissue_loss' }),
        entry('plan', mondayMs - dayMs, { stock: 'soda', ml_per_day: 40 }),
        // A pump that notes the same with each dose must not bury the rest; two water changes are two.
        ...[4, 5, 6].map((day) => entry('dose', mondayMs + day * dayMs, { stock: 'soda', ml: 1, note: 'by pump' })),
        ...[4, 5].map((day) => entry('water_change', mondayMs + day * dayMs + 1, { volume_l: 40 })),
      ],
    });
    const { toDo, corals, happened, changed } = figures();
    expect(toDo.map(({ kind }) => kind)).toEqual(['advice', 'test', 'container']);
    expect(toDo[2]?.reason).toBe('160 mL left: 4 days at last week’s rate');
    expect(toDo[1]?.reason).toBe('never tested; a test is due every 2 days');
    expect(corals).toMatchObject({
      ...{ arrived: 1, pieces: 5, lost: 1, byCause: [{ cause: 'tissue loss', lost: 1 }], kept: { value: 1 } },
    });
    expect(happened.map(({ words }) => words)).toEqual([
      'Arrived: Five frags (5 × Acropora)',
      'Lost: Acropora (p1), cause: tissue loss',
      'Note with a dose: by pump (3 times in the week)',
      '40 L of water changed',
      '40 L of water changed',
    ]);
    expect(changed.map(({ words }) => words)).toEqual(['Container of Soda of Display tank filled to 200 mL']);
  });

  test('an empty week is full of noughts', () => {
    const { bandsKept, bands, alarms, demand, tests, doses, line, toDo } = figures('2026-W20');
    expect(bandsKept).toEqual({ absent: 'no reading this week' });
    expect(bands).toEqual([]);
    const unwatched = { absent: 'nothing was recorded this week, so nothing was watched' };
    expect(alarms).toMatchObject({ raised: unwatched, perDay: unwatched, timeInAlarm: unwatched });
    expect(demand[0]).toMatchObject({ perDay: { absent: 'no test yet' }, change: { absent: 'no test yet' } });
    expect(tests[0]).toMatchObject({ done: 0, outliers: { absent: 'no test this week' }, lastMs: null });
    expect(doses).toMatchObject([{ entered: { absent: 'none entered' } }]);
    expect(toDo.map(({ kind }) => kind)).toEqual(['test']);
    expect(line).toBe('Week 20: no band could be judged; to do: test alkalinity');
  });

  test('a week that is still to come has figures', () => {
    const found = figures('2026-W52');
    expect(found).toMatchObject({ isOver: false, bandsKept: { absent: 'no reading this week' }, bands: [] });
    expect(found.demand[0]?.dosedPerDay).toEqual({ absent: 'the week has not begun' });
  });

  test('where nothing is due, something is invented', () => {
    const days = Array.from({ length: 7 }, (_, day) => mondayMs + day * dayMs + 9 * hourMs);
    store.add(everyTenMinutes('t1', 'temperature', mondayMs, nextMondayMs, () => 25.5));
    store.flush();
    store.commit({
      entries: days.map((timeMs) => entry('test', timeMs, { analyte: 'alkalinity', value: 8.2, sd: 0.1 })),
    });
    const { toDo, line } = figures();
    expect(toDo).toEqual([]);
    expect(line).toMatch(
      /^Week 47: bands kept 100 % of the time; alkalinity demand .* dKH a day; 0 alarms; nothing to do$/,
    );
  });

  test('a week is judged by the bands of another time, or a band that changed is not told', () => {
    store.add(everyTenMinutes('t1', 'temperature', mondayMs, nextMondayMs, () => 26.8));
    store.flush();
    noteConfiguration(store, config, mondayMs - dayMs);
    noteConfiguration(store, config, mondayMs);
    expect(configurationsSeen(store)).toHaveLength(1);
    expect(figures().bandsKept).toEqual({ value: 0 });
    const [system] = config.systems;
    const wider = {
      ...config,
      systems: [{ ...system!, bands: { ...system!.bands, temperature: { low: 25, high: 27 } } }],
    };
    const later = nextMondayMs + dayMs;
    noteConfiguration(store, wider, later);
    const judged = (ofWeek: string, units: KeepersUnits = {}) =>
      reviewFigures({ config: wider, store, units, isInvented: false }, ofWeek, later + dayMs);
    expect(judged(week).bandsKept).toEqual({ value: 0 });
    expect(judged(week).changed).toEqual([]);
    expect(judged(weekAfter(week)).changed.map(({ words }) => words)).toEqual([
      'Temperature: band was 25 to 26.5 °C, at most 0.5 °C an hour, at most 1 °C a day, now 25 to 27 °C',
    ]);
    // 25 °C is 77 °F, 26.5 °C is 79.7 °F, 27 °C is 80.6 °F, and a step of 1 °C is one of 1.8 °F, by definition.
    expect(judged(weekAfter(week), { temperature: '°F' }).changed.map(({ words }) => words)).toEqual([
      'Temperature: band was 77 to 79.7 °F, at most 0.9 °F an hour, at most 1.8 °F a day, now 77 to 80.6 °F',
    ]);
  });
});
