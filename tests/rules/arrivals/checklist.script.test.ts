import { describe, expect, it } from 'vitest';
import {
  type ChecklistInput,
  type ChecklistState,
  nextTickMs,
  noRuns,
  stepChecklist,
} from '#rules/arrivals/checklist.ts';
import type { Protocol } from '#rules/arrivals/protocol.ts';

const minute = 60_000;
const protocol: Protocol = {
  id: 'p',
  name: 'Dip',
  steps: [
    { kind: 'dip_bath', tankShare: 0.5, reagents: [{ name: 'iodine', dose_mL_L: 2 }] },
    { kind: 'soak', minutes: 7, mostMinutes: 9 },
    { kind: 'rinse_bath', minutes: 5 },
    { kind: 'inspection' },
  ],
};

/** Plays inputs at minutes and writes down, as `minute run what`, all that is told. */
function play(script: [atMinutes: number, input: ChecklistInput][], from: ChecklistState = noRuns) {
  let state = from;
  const told: string[] = [];
  for (const [atMinutes, input] of script) {
    // Stored and restored between any two inputs, as over a restart.
    const result = stepChecklist(JSON.parse(JSON.stringify(state)) as ChecklistState, input, atMinutes * minute);
    state = result.state;
    for (const event of result.events) {
      const what =
        event.kind === 'timer' ? `${event.stepKind} ${event.call.kind}${event.call.isLoud ? ' LOUD' : ''}` : event.kind;
      told.push(`${atMinutes} ${event.runId} ${event.kind === 'step' ? event.stepKind : what}`);
    }
    if (result.refused) told.push(`${atMinutes} refused ${result.refused.fault}`);
  }
  return { state, told };
}

const tick = { kind: 'tick' } as const;
const start = (runId: string, arrivalId = 'tuesday') => ({ kind: 'start', runId, arrivalId, protocol }) as const;
const timer = (runId: string) => ({ kind: 'start_timer', runId }) as const;
const done = (runId: string, findings?: string) =>
  ({ kind: 'step_done', runId, ...(findings === undefined ? {} : { findings }) }) as const;
const early = (runId: string, findings?: string) => ({ ...done(runId, findings), isEarly: true }) as const;
const soaking = (runId: string): [number, ChecklistInput][] => [
  [0, start(runId)],
  [1, done(runId)],
  [2, timer(runId)],
];

describe('a step that was marked done by a slip', () => {
  const undo = (runId: string) => ({ kind: 'step_undone', runId }) as const;

  it('loses the clock of pieces that still soak, or starts it anew', () => {
    const { state, told } = play([...soaking('A'), [4, early('A')], [5, undo('A')], [8, tick], [9, tick]]);
    // In at minute 2 and never out: the end stays at 9.
    expect(state.runs[0]).toMatchObject({ step: 1, timer: { startedMs: 2 * minute, endsMs: 9 * minute } });
    expect(state.runs[0]?.done).toHaveLength(1);
    expect(told.slice(3)).toEqual(['4 A rinse_bath', '5 A undone', '8 A soak ends_soon', '9 A soak ended']);
  });

  it('takes more of what was done with it than itself', () => {
    const { state } = play([...soaking('A'), [4, early('A', 'two flatworms')], [10, early('A')], [11, undo('A')]]);
    expect(state.runs[0]).toMatchObject({ step: 2, done: [{ kind: 'dip_bath' }, { findings: 'two flatworms' }] });
    expect(state.runs[0]?.done).toHaveLength(2);
  });

  it('is undone while a timer runs, and that clock is lost', () => {
    expect(play([...soaking('A'), [3, undo('A')]]).told.at(-1)).toBe('3 refused timer_runs');
    expect(
      play([
        [0, start('A')],
        [1, undo('A')],
      ]).told.at(-1),
    ).toBe('1 refused nothing_done');
  });
});

describe('a soak that nobody ends', () => {
  it('is not called at its end, or not louder at the maximum', () => {
    const ticks = Array.from({ length: 12 }, (_, index): [number, ChecklistInput] => [index + 3, tick]);
    // In at minute 2: warned a minute before the seven are over, ended at 9, the maximum of nine at 11, and each minute on.
    expect(play([...soaking('A'), ...ticks]).told).toEqual([
      '0 A dip_bath',
      '1 A soak',
      '8 A soak ends_soon',
      '9 A soak ended',
      '11 A soak at_maximum LOUD',
      '12 A soak at_maximum LOUD',
      '13 A soak at_maximum LOUD',
      '14 A soak at_maximum LOUD',
    ]);
  });

  it('is announced twice in its last minute, or the hub sleeps through the announcement', () => {
    expect(nextTickMs(play(soaking('A')).state)).toBe(8 * minute);
    expect(play([...soaking('A'), [8, tick], [8.5, tick], [8.9, tick]]).told.slice(2)).toEqual(['8 A soak ends_soon']);
    expect(nextTickMs(play([...soaking('A'), [8, tick]]).state)).toBe(9 * minute);
  });

  it('is forgotten, or told three times over, after the hub was down', () => {
    const { told, state } = play([...soaking('A'), [20, tick], [20.5, tick]]);
    expect(told.slice(2)).toEqual(['20 A soak at_maximum LOUD']);
    expect(nextTickMs(state)).toBe(21 * minute);
  });

  it('calls for ever', () => {
    const ticks = Array.from({ length: 100 }, (_, index): [number, ChecklistInput] => [index + 11, tick]);
    const { told, state } = play([...soaking('A'), ...ticks]);
    expect(told.filter((line) => line.includes('at_maximum'))).toHaveLength(30);
    expect(nextTickMs(state)).toBeUndefined();
  });

  it('is called a second time when the clock steps back', () => {
    expect(play([...soaking('A'), [9, tick], [4, tick], [9, tick], [11, tick]]).told.slice(2)).toEqual([
      '9 A soak ended',
      '11 A soak at_maximum LOUD',
    ]);
  });
});

describe('a whole checklist', () => {
  it('loses a step, its findings or the moment it was done', () => {
    const { told, state } = play([
      ...soaking('A'),
      [8.5, tick],
      [9, done('A')],
      [9.5, timer('A')],
      [14.5, tick],
      [15, done('A')],
      [17, done('A', 'one egg cluster, scraped off')],
      [18, done('A')],
    ]);
    expect(told).toEqual([
      '0 A dip_bath',
      '1 A soak',
      '8.5 A soak ends_soon',
      '9 A timed',
      '9 A rinse_bath',
      '14.5 A rinse_bath ended',
      '15 A timed',
      '15 A inspection',
      '17 A finished',
      '18 refused already_finished',
    ]);
    expect(
      state.runs[0]!.done.map(({ kind, startedMs, doneMs }) => [kind, startedMs / minute, doneMs / minute]),
    ).toEqual([
      ['dip_bath', 0, 1],
      ['soak', 2, 9],
      ['rinse_bath', 9.5, 15],
      ['inspection', 15, 17],
    ]);
    expect(state.runs[0]!.done[3]!.findings).toBe('one egg cluster, scraped off');
  });

  it('corals in distress cannot be taken out before the time', () => {
    expect(play([...soaking('A'), [4, early('A')]]).told.slice(2)).toEqual(['4 A timed', '4 A rinse_bath']);
  });

  it('a step with minutes is done within seconds of being at hand, and the record says that it took them all', () => {
    // In the bath at minute 2, at the rinse from minute 4 on, whose clock starts at 5 and should run until 10.
    const { told, state } = play([
      ...soaking('A'),
      [3, done('A')],
      [4, early('A')],
      [4.1, done('A')],
      [5, timer('A')],
      [9, done('A')],
      [9.5, early('A')],
    ]);
    expect(told.slice(2)).toEqual([
      '3 refused time_not_over',
      '4 A timed',
      '4 A rinse_bath',
      '4.1 refused timer_not_started',
      '9 refused time_not_over',
      '9.5 A timed',
      '9.5 A inspection',
    ]);
    expect(state.runs[0]!.done.map(({ kind, tookMinutes }) => [kind, tookMinutes])).toEqual([
      ['dip_bath', undefined],
      ['soak', 2],
      ['rinse_bath', 4.5],
    ]);
  });

  it('a step that was done without its clock says how long it took', () => {
    const { state } = play([...soaking('A'), [9, done('A')], [10, early('A')]]);
    expect(state.runs[0]!.done.at(-1)).not.toHaveProperty('tookMinutes');
  });

  it('the journal is not told how long a step really took', () => {
    const { state } = play(soaking('A'));
    const { events } = stepChecklist(state, early('A'), 6 * minute);
    expect(events[0]).toMatchObject({ kind: 'timed', stepKind: 'soak', tookMs: 4 * minute, earlyMs: 3 * minute });
  });

  it('a soak is ticked off whose clock was never started', () => {
    expect(
      play([
        [0, start('A')],
        [1, done('A')],
        [2, done('A')],
      ]).told.at(-1),
    ).toBe('2 refused timer_not_started');
  });

  it('of two baths at once one timer silences the other', () => {
    const { told } = play([
      ...soaking('A'),
      [3, start('B')],
      [4, done('B')],
      [5, timer('B')],
      [9, done('A')],
      [11, tick],
      [12, tick],
      [14, tick],
    ]);
    expect(told.slice(4)).toEqual([
      '9 A timed',
      '9 A rinse_bath',
      '11 B soak ends_soon',
      '12 B soak ended',
      '14 B soak at_maximum LOUD',
    ]);
  });
});

describe('what must not be done', () => {
  it('an arrival deleted in mid-soak takes its timer with it', () => {
    const { told, state } = play([
      ...soaking('A'),
      [3, start('B')],
      [4, { kind: 'delete_arrival', arrivalId: 'tuesday' }],
      [5, { kind: 'delete_run', runId: 'A' }],
      [9, tick],
    ]);
    expect(told.slice(3)).toEqual(['4 refused soak_runs', '5 refused soak_runs', '9 A soak ended']);
    expect(state.runs).toHaveLength(2);
    const later = play(
      [
        [10, done('A')],
        [11, { kind: 'delete_arrival', arrivalId: 'tuesday' }],
      ],
      state,
    );
    expect(later.told).toEqual(['10 A timed', '10 A rinse_bath', '11 A deleted', '11 B deleted']);
    expect(later.state.runs).toEqual([]);
  });

  it('says why in no words', () => {
    const { state } = play(soaking('A'));
    const { refused } = stepChecklist(state, { kind: 'delete_run', runId: 'A' }, 3 * minute);
    expect(refused!.why).toBe('Pieces of A are in the dip bath. Take them out, mark the soak done, then delete.');
  });

  it.each<[string, [number, ChecklistInput][], string]>([
    [
      'a checklist twice',
      [
        [0, start('A')],
        [1, start('A')],
      ],
      'run_exists',
    ],
    ['a checklist that is not there', [[0, done('A')]], 'run_unknown'],
    ['an arrival that is not there', [[0, { kind: 'delete_arrival', arrivalId: 'x' }]], 'arrival_unknown'],
    ['a timer twice', [...soaking('A'), [3, timer('A')]], 'timer_runs'],
    [
      'a timer where there is none',
      [
        [0, start('A')],
        [1, timer('A')],
      ],
      'step_has_no_timer',
    ],
    [
      'a protocol over the maximum',
      [
        [
          0,
          {
            ...start('A'),
            protocol: { ...protocol, steps: [protocol.steps[0]!, { kind: 'soak', minutes: 15 }, protocol.steps[2]!] },
          },
        ],
      ],
      'protocol_faulty',
    ],
    [
      'more checklists than a delivery has',
      Array.from({ length: 51 }, (_, run) => [run, start(`R${run}`)]),
      'too_many_runs',
    ],
  ])('%s is taken', (_, script, fault) => {
    expect(play(script).told.at(-1)).toMatch(new RegExp(`refused ${fault}$`));
  });
});

it('a protocol that is refused does not say at which step', () => {
  const refused = (steps: Protocol['steps']) =>
    stepChecklist(noRuns, { ...start('A'), protocol: { id: 'p', name: 'Dip', steps } }, 0).refused;
  expect(refused([])).toEqual({ fault: 'protocol_faulty', why: 'It has no steps.' });
  expect(refused([{ kind: 'inspection' }, { kind: 'float', minutes: 5 }])?.why).toMatch(/^Step 2: Bags float for 5 /);
});

describe('a second bath', () => {
  const other = (runId: string) => start(runId, 'friday');

  // In at minute 2 and 3 for seven minutes: announced at 8 and 9.
  it('hides from the hub which timer speaks first', () => {
    const later: [number, ChecklistInput][] = [
      [2, other('B')],
      [2.5, done('B')],
      [3, timer('B')],
    ];
    expect(nextTickMs(play([...soaking('A'), ...later]).state)).toBe(8 * minute);
    expect(nextTickMs(play([[0, start('A')]]).state)).toBeUndefined();
  });

  it('of another arrival is deleted along with the first', () => {
    const { state, told } = play([
      [0, start('A')],
      [1, other('B')],
      [2, { kind: 'delete_arrival', arrivalId: 'tuesday' }],
    ]);
    expect(told.slice(2)).toEqual(['2 A deleted']);
    expect(state.runs.map(({ id }) => id)).toEqual(['B']);
    expect(
      play([
        [0, start('A')],
        [1, other('B')],
        [2, { kind: 'delete_run', runId: 'B' }],
      ]).state.runs.map(({ id }) => id),
    ).toEqual(['A']);
  });

  it('that is refused under the same name silences the call of the first', () => {
    expect(play([...soaking('A'), [9, start('A')]]).told.slice(2)).toEqual(['9 A soak ended', '9 refused run_exists']);
  });
});

describe('what may be deleted', () => {
  const remove = (runId: string) => ({ kind: 'delete_run', runId }) as const;

  it('is only a bath in which nothing soaks: not one before its soak, nor one that is rinsed', () => {
    const before = play([
      [0, start('A')],
      [1, done('A')],
      [2, remove('A')],
    ]);
    expect(before.told.at(-1)).toBe('2 A deleted');
    const rinsed = play([...soaking('A'), [9, done('A')], [10, timer('A')], [11, remove('A')]]);
    expect(rinsed.told.at(-1)).toBe('11 A deleted');
  });
});

describe('bags afloat', () => {
  const float: Protocol = {
    id: 'f',
    name: 'Float',
    steps: [{ kind: 'float', minutes: 60 }, { kind: 'swirl_and_rinse_off' }],
  };
  const afloat: [number, ChecklistInput][] = [
    [0, { ...start('A'), protocol: float }],
    [1, timer('A')],
  ];

  it('are called after ten minutes like a soak, announced before, or called again and louder', () => {
    const { told, state } = play([...afloat, [11, tick], [60.5, tick], [61, tick], [62, tick], [100, tick]]);
    expect(told.slice(1)).toEqual(['61 A float ended']);
    expect(nextTickMs(state)).toBeUndefined();
    expect(nextTickMs(play(afloat).state)).toBe(61 * minute);
  });
});

describe('a timer', () => {
  const call = (atMinutes: number) =>
    stepChecklist(play(soaking('A')).state, tick, atMinutes * minute).events.map((event) =>
      event.kind === 'timer' ? event.call : undefined,
    );

  it('tells another time over than it is', () => {
    expect(call(8)).toEqual([{ kind: 'ends_soon', isLoud: false, overMs: -minute }]);
    expect(call(9.5)).toEqual([{ kind: 'ended', isLoud: false, overMs: 0.5 * minute }]);
    expect(call(12)).toEqual([{ kind: 'at_maximum', isLoud: true, overMs: minute }]);
  });

  // After the end at 9 the next word is that of the maximum at 11, also when the announcement was slept through.
  it('that was slept through asks to be woken in the past', () => {
    expect(nextTickMs(play([...soaking('A'), [9, tick]]).state)).toBe(11 * minute);
  });

  it('that has nothing to say makes the hub store its state anew', () => {
    const { state } = play(soaking('A'));
    expect(stepChecklist(state, tick, 3 * minute).state).toBe(state);
  });
});

describe('what is stored', () => {
  it('holds what is not there: a finding nobody wrote, a timer nobody started', () => {
    const { state } = play([
      [0, start('A')],
      [1, done('A')],
    ]);
    const undone = stepChecklist(state, { kind: 'step_undone', runId: 'A' }, 2 * minute).state;
    const again = stepChecklist(undone, done('A'), 3 * minute).state;
    for (const each of [undone, again]) expect(JSON.parse(JSON.stringify(each))).toStrictEqual(each);
  });
});

it.each<[string, [number, ChecklistInput][], string]>([
  ['an arrival', [[0, { kind: 'delete_arrival', arrivalId: 'x' }]], 'Arrival x has no checklist.'],
  ['a checklist', [[0, done('B')]], 'There is no checklist B.'],
  ['a checklist that is here', [...soaking('A'), [3, start('A')]], 'There is already a checklist A.'],
  ['a timer that runs', [...soaking('A'), [3, timer('A')]], 'The timer of this step is already running.'],
  [
    'a step without time',
    [
      [0, start('A')],
      [1, timer('A')],
    ],
    'The step dip bath has no timer.',
  ],
  [
    'a soak without a clock',
    [
      [0, start('A')],
      [1, done('A')],
      [2, done('A')],
    ],
    'Start the timer when the pieces are in: a soak without a clock is not done.',
  ],
  [
    'a checklist that is done',
    [...soaking('A'), [9, done('A')], [10, early('A')], [11, done('A')], [12, done('A')]],
    'All steps of A are done.',
  ],
  [
    'a step that was not done',
    [
      [0, start('A')],
      [1, { kind: 'step_undone', runId: 'A' }],
    ],
    'No step of A is done yet.',
  ],
  [
    'a step behind a clock that runs',
    [...soaking('A'), [3, { kind: 'step_undone', runId: 'A' }]],
    'The timer of this step is running: end the step before you go back.',
  ],
  [
    'a fifty-first checklist',
    Array.from({ length: 51 }, (_, run): [number, ChecklistInput] => [run, start(`R${run}`)]),
    'There are 50 checklists already: delete finished ones.',
  ],
])('%s is refused without a word why', (_what, script, why) => {
  const [atMinutes, last] = script.at(-1)!;
  const { state } = play(script.slice(0, -1));
  expect(stepChecklist(state, last, atMinutes * minute).refused?.why).toBe(why);
});
