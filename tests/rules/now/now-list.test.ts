import { describe, expect, it } from 'vitest';
import type { NowFacts } from '#rules/now/facts.ts';
import { nowLines, nowList } from '#rules/now/now-list.ts';
import { alarm, arrival, calmRoom, dayMs, hourMs, minuteMs, noonMs, room, soak } from './room-facts.ts';

const said = (facts: Partial<NowFacts>) => nowList(room(facts)).deeds.map(({ what, words }) => `${what} [${words}]`);
const first = (facts: Partial<NowFacts>) => nowList(room(facts)).deeds[0];

describe('pieces in water', () => {
  it('a soak that runs shows nowhere but on its own page', () => {
    expect(first({ runs: [soak()] })).toMatchObject({
      ...{ urgency: 'now', tank: 'display', what: 'Pieces are in the dip: stay with them' },
      clock: { endsMs: noonMs + 6 * minuteMs },
      act: { do: 'open_step', arrival: 'a1', run: 'a1-1' },
    });
  });

  it('a soak that is over stands below a bath that rinses, or has no button to end it', () => {
    const over = soak({ clock: { startedMs: noonMs - 9 * minuteMs, endsMs: noonMs - 2 * minuteMs } });
    const rinse = soak({ run: 'a1-2', step: 'rinse_bath', minutes: 10 });
    const floats = soak({
      run: 'a1-3',
      step: 'float',
      clock: { startedMs: noonMs - 90 * minuteMs, endsMs: noonMs - 30 * minuteMs },
    });
    expect(said({ runs: [rinse, floats, over] })).toEqual([
      'Take the pieces out of the dip and rinse them off [They are out]',
      'The bags have floated long enough [Go on]',
      'Pieces are in the rinse [Open]',
    ]);
    expect(first({ runs: [over] })?.act).toEqual({ do: 'step_done', arrival: 'a1', run: 'a1-1' });
  });

  it('"nothing is due" is said while the corals sit in closed bags', () => {
    const { deeds, calm } = nowList(room({ arrivals: [arrival({ isInBags: true })] }));
    expect(calm).toBeUndefined();
    expect(deeds).toMatchObject([
      { what: 'Float the closed bags of Tuesday', urgency: 'now', act: { do: 'start_checklist', arrival: 'a1' } },
    ]);
  });

  it('a step that waits for its timer, or has none, is not asked for', () => {
    const { clock: _, ...unstarted } = soak();
    const {
      minutes: _minutes,
      clock: _clock,
      ...bath
    } = soak({ run: 'a1-2', step: 'dip_bath', next: 'soak', amounts: '2.0 L from the tank' });
    expect(said({ runs: [unstarted, bath] })).toEqual([
      'Put the pieces into the dip [Start 7 min]',
      'Make the dip bath [Open]',
    ]);
    expect(nowList(room({ runs: [bath] })).deeds[0]?.more).toBe(
      '2.0 L from the tank · Tuesday · next: put the pieces into the dip',
    );
  });
});

describe('the order of the day', () => {
  it('what harms by waiting does not come first', () => {
    const facts = room({
      alarms: [alarm(), alarm({ id: 'frags/ph/drift', system: 'frags', priority: 'low', message: 'pH drifts.' })],
      runs: [soak()],
      arrivals: [
        arrival({
          inspection: { dueMs: noonMs - dayMs, lookFor: 'bite marks' },
          rack: { height_cm: 9, day: 6, days: 21 },
        }),
      ],
      tests: [{ system: 'display', analyte: 'alkalinity', label: 'alkalinity', dueMs: noonMs }],
      doses: [
        {
          system: 'display',
          analyte: 'alkalinity',
          label: 'alkalinity',
          amount: 'Dose 12 mL of Soda today',
          relation: 'on_top_of_daily',
          daily: '104 mL a day',
        },
      ],
      batches: [{ batch: 'b1', system: 'display', litres: 20, isReady: true, madeMs: noonMs - dayMs }],
    });
    expect(nowList(facts).deeds.map(({ id, urgency }) => `${urgency} ${id}`)).toEqual([
      'now alarm:display/temperature/out_of_band/high',
      'now run:a1-1',
      'today dose:display/alkalinity/on_top_of_daily',
      'today test:display',
      'today rack:a1',
      'today inspection:a1',
      'soon alarm:frags/ph/drift',
      'soon batch:b1',
    ]);
  });

  it('a dose does not say whether it is on top of the daily dosing or in its place', () => {
    const dose = { system: 'display', analyte: 'alkalinity', label: 'alkalinity', daily: '104 mL a day' };
    const more = (relation: NowFacts['doses'][number]['relation']) =>
      first({ doses: [{ ...dose, amount: 'Dose 12 mL of Soda', relation }] })?.more;
    expect(more('on_top_of_daily')).toBe('alkalinity: on top of the daily dosing of 104 mL a day');
    expect(more('instead_of_daily')).toBe('alkalinity: instead of 104 mL a day');
  });

  it('advice that waits for a test is lost, or the same test is asked for twice', () => {
    const test = { system: 'display', analyte: 'alkalinity', label: 'alkalinity', dueMs: noonMs };
    const holdBacks = [
      {
        system: 'display',
        analyte: 'alkalinity',
        label: 'alkalinity',
        why: 'The last test stands out.',
        dueMs: noonMs,
      },
    ];
    expect(said({ tests: [test], holdBacks })).toEqual(['Test alkalinity again before you dose [Log test]']);
    // Asked for again at once it would be asked for without end.
    const later = holdBacks.map((each) => ({ ...each, dueMs: noonMs + dayMs }));
    expect(said({ holdBacks: later })).toEqual([]);
  });

  it('tests of one tank are three lines, or one of tomorrow is asked for today', () => {
    const test = (label: string, dueMs: number) => ({ system: 'display', analyte: label, label, dueMs });
    const tests = [test('alkalinity', noonMs), test('calcium', noonMs - dayMs), test('nitrate', noonMs + dayMs)];
    expect(said({ tests })).toEqual(['Test alkalinity and calcium [Log test]']);
  });

  it('a test that is overdue by its alarm is not asked for, or asked for although it was silenced', () => {
    const tests = [{ system: 'display', analyte: 'calcium', label: 'calcium', dueMs: noonMs - dayMs }];
    const overdue = {
      rule: 'test_overdue',
      metric: 'calcium',
      priority: 'low',
      id: 'display/calcium/test_overdue',
    } as const;
    expect(said({ tests, alarms: [alarm(overdue)] })).toEqual(['Test calcium [Log test]']);
    expect(said({ alarms: [alarm(overdue)] })).toEqual(['Test calcium [Log test]']);
    expect(said({ tests, alarms: [alarm({ ...overdue, state: 'shelved' })] })).toEqual([]);
  });

  it('a container or a calibration asks to be acknowledged and not to be seen to', () => {
    const low = { priority: 'low', metric: '' } as const;
    const container = alarm({
      ...low,
      rule: 'container_low',
      id: 'display/room/container_low/soda',
      message: 'Soda lasts 2 days.',
    });
    const probe = alarm({
      ...low,
      rule: 'calibration_overdue',
      metric: 'ph',
      id: 'display/ph/calibration_overdue/ph-1',
    });
    expect(nowList(room({ alarms: [container, probe] })).deeds.map(({ act }) => act)).toEqual([
      { do: 'refill', system: 'display', stock: 'soda' },
      { do: 'calibrate', probe: 'ph-1' },
    ]);
  });
});

describe('corals that are expected', () => {
  const expected = (given: object) => arrival({ state: 'expected', expectedMs: noonMs + 26 * hourMs, ...given });

  it('nobody is told to make their water, or that it does not match yet', () => {
    expect(said({ arrivals: [expected({ water: { is: 'none', litres: 4.13 } })] })).toEqual([
      'Make 4.1 L of salt water for Tuesday [Make it]',
    ]);
    const water = { is: 'unmatched', batch: 'b2', why: 'Warm it.' } as const;
    expect(first({ arrivals: [expected({ water })] })).toMatchObject({
      ...{ what: 'Match the salt water for Tuesday', more: 'Warm it.', act: { do: 'open_batch', batch: 'b2' } },
    });
    expect(said({ arrivals: [expected({ water: { is: 'ready', batch: 'b2' } })] })).toEqual([]);
    expect(said({ arrivals: [expected({ expectedMs: noonMs + 9 * dayMs, water: { is: 'none' } })] })).toEqual([]);
  });

  it('on their day nobody can say that they are here', () => {
    expect(said({ arrivals: [expected({ expectedMs: noonMs + hourMs })] })).toEqual([
      'Tuesday: say when they are here [They are here]',
    ]);
  });
});

describe('nothing to do', () => {
  it.each([
    ['a calm room', {}, 'Nothing to do now.'],
    ['a room of dead probes', { unheardProbes: 4 }, 'Nothing is due, but 4 of 4 probes are silent.'],
    [
      'a tank that has just left its band',
      { outside: [{ system: 'frags', label: 'temperature' }] },
      'No alarm yet, but in Frag tank temperature is outside its band.',
    ],
    ['a silenced alarm', { alarms: [alarm({ state: 'shelved' })] }, 'Nothing is due; 1 alarm is silenced meanwhile.'],
  ])('%s is told in a sentence that is not true', (_what, facts, calm) => {
    expect(nowList(room(facts))).toEqual({ deeds: [], calm });
  });
});

describe('the list on a phone', () => {
  const lines = (facts: Partial<NowFacts>) => nowLines(nowList(room(facts)), calmRoom.tanks, noonMs, 'Today');

  it('is longer than somebody reads, or loses the clock that runs', () => {
    const alarms = Array.from({ length: 8 }, (_, place) => alarm({ id: `display/ph/r${place}`, priority: 'medium' }));
    const told = lines({ alarms, runs: [soak()] });
    expect(told.slice(0, 2)).toEqual([
      'Today: 9 to do.',
      '1. Display: Pieces are in the dip: stay with them (6 min left)',
    ]);
    expect(told).toHaveLength(7);
    expect(told.at(-1)).toBe('and 4 more');
    expect(told.every((line) => [...line].length <= 120)).toBe(true);
  });

  it('a dose on a phone does not say whether it is on top of the daily dosing or in its place', () => {
    const dose = { system: 'display', analyte: 'alkalinity', label: 'alkalinity', daily: '104 mL a day' };
    const doses = (['on_top_of_daily', 'instead_of_daily'] as const).map((relation) => ({
      ...dose,
      ...{ amount: 'Dose 12 mL of Soda', relation },
    }));
    expect(lines({ doses }).slice(1, 3)).toEqual([
      '1. Display: Dose 12 mL of Soda, on top of the daily dosing of 104 mL a day',
      '2. Display: Dose 12 mL of Soda, instead of 104 mL a day',
    ]);
  });

  it('says nothing on a calm day', () => {
    expect(lines({})).toEqual(['Today: Nothing to do now.']);
  });
});

it('a lot is called otherwise than the kit, whatever the keeper has named it', () => {
  const lot = 'lot 7 of Blue kit that reads low';
  const { deeds } = nowList(
    room({ lots: [{ kit: 'k2', system: 'display', lot, what: `${lot} reads alkalinity 0.6 dKH higher` }] }),
  );
  expect(deeds.map(({ what }) => what)).toEqual([`Compare ${lot} with the lot before`]);
});
