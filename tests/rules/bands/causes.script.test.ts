import { describe, expect, test } from 'vitest';
import type { Evidence } from '#rules/bands/evidence.ts';
import { alarmsOf } from '#rules/bands/room.ts';
import type { WatchedProbe } from '#rules/bands/watched-room.ts';
import { minuteMs, mondayMs, run, transitions } from './script.ts';

const bands = {
  temperature: { low: 25, high: 26.5, mostPerHour: 50 },
  ph: { low: 7.8, high: 8.4, mostPerHour: 5 },
  salinity: { low: 34, high: 36, mostPerHour: 50 },
};

const probes: WatchedProbe[] = [
  { id: 'thermometer', metric: 'temperature', everyMs: minuteMs },
  { id: 'cell', metric: 'conductivity', everyMs: minuteMs },
  { id: 'cell', metric: 'salinity', everyMs: minuteMs, derivedFrom: ['cell', 'thermometer'] },
];

const wired = probes.slice(0, 2);

const edge = (isUp: boolean): Evidence => ({
  is: 'edge',
  name: 'serial:left',
  isUp,
  detail: 'no such device',
  probes: ['thermometer', 'cell'],
});

describe('a dead probe', () => {
  test('reports the salinity that is computed from it as well', () => {
    const ran = run({
      bands,
      probes,
      series: {
        'temperature/thermometer': '25.5 25.6 '.repeat(60),
        'conductivity/cell': `${'53 53.1 '.repeat(15)} .*60 ${'53 53.1 '.repeat(15)}`,
        'salinity/cell': `${'35 35.1 '.repeat(15)} .*60 ${'35 35.1 '.repeat(15)}`,
      },
    });
    expect(transitions(ran)).toEqual(['35 raised conductivity/silent_probe', '95 cleared conductivity/silent_probe']);
  });

  test('hides what it hides from the list that people see', () => {
    const ran = run({
      bands,
      probes,
      series: {
        'temperature/thermometer': '25.5 25.6 '.repeat(30),
        'conductivity/cell': `${'53 53.1 '.repeat(15)} .*30`,
        'salinity/cell': `${'35 35.1 '.repeat(15)} .*30`,
      },
    });
    const listed = alarmsOf(ran.rules, ran.state, ran.nowMs).map(({ id, state }) => `${id} ${state}`);
    expect(listed).toEqual(['tank/conductivity/silent_probe unacknowledged', 'tank/salinity/silent_probe suppressed']);
  });

  test('of one system hides the alarms of the water that it does not measure', () => {
    const ran = run({
      bands,
      probes,
      series: {
        'temperature/thermometer': '.*60',
        'conductivity/cell': '53 53.1 '.repeat(30),
        ph: `${'8.1 8.11 '.repeat(10)} ${'8.6 8.61 '.repeat(20)}`,
      },
    });
    expect(transitions(ran)).toContain('30 raised ph/out_of_band/high');
  });
});

describe('a temperature fault', () => {
  const hot = `${'25.5 25.6 '.repeat(15)} ${'30 30.1 '.repeat(30)} ${'25.5 25.6 '.repeat(30)}`;

  test('reports the small pH move that follows from it', () => {
    const ran = run({
      bands,
      series: {
        temperature: hot,
        ph: `${'7.82 7.83 '.repeat(15)} ${'7.77 7.76 '.repeat(30)} ${'7.88 7.89 '.repeat(30)}`,
      },
    });
    expect(transitions(ran)).toEqual([
      '35 raised temperature/out_of_band/high',
      '100 cleared temperature/out_of_band/high',
    ]);
  });

  test('hides a pH move that is far larger than its physics', () => {
    const ran = run({
      bands,
      series: {
        temperature: hot,
        ph: `${'7.82 7.83 '.repeat(15)} ${'7.3 7.31 '.repeat(30)} ${'7.88 7.89 '.repeat(30)}`,
      },
    });
    expect(transitions(ran)).toContain('40 raised ph/out_of_band/low');
  });

  test('leaves an effect unsaid that lasts on without it', () => {
    const ran = run({
      bands,
      series: { temperature: hot, ph: `${'7.82 7.83 '.repeat(15)} ${'7.77 7.76 '.repeat(75)}` },
    });
    // The temperature is back at 90, cleared at 100; the pH gets half an hour to follow.
    expect(transitions(ran)).toContain('130 raised ph/out_of_band/low');
  });
});

describe('an edge that is down', () => {
  const series = {
    'temperature/thermometer': `${'25.5 25.6 '.repeat(15)} .*60 ${'25.5 25.6 '.repeat(15)}`,
    'conductivity/cell': `${'53 53.1 '.repeat(15)} .*60 ${'53 53.1 '.repeat(15)}`,
  };

  test('is said once for each probe behind it', () => {
    const ran = run({ bands, probes: wired, series, at: { 30: edge(false), 89: edge(true) } });
    expect(transitions(ran)).toEqual([
      '31 raised room/edges/edge_fault/serial:left',
      '90 cleared room/edges/edge_fault/serial:left',
    ]);
    expect(ran.events[0]!.message).toMatch(
      /Probe board left has been down for 1 min: no such device\. 2 probes silent/,
    );
  });

  test('sends the keeper of a damaged store to a cable that it does not have', () => {
    const store: Evidence = {
      is: 'edge',
      name: 'store',
      isUp: false,
      detail: 'The readings of series 3 have changed on disk.',
      probes: [],
    };
    const ran = run({ bands, probes: wired, series, at: { 10: store } });
    const told = ran.events.find(({ alarm }) => alarm === 'room/edges/edge_fault/store')?.message ?? '';
    expect(told).toMatch(/^The store has had a fault for .*: The readings of series 3 have changed on disk\. Look/);
    expect(told).not.toMatch(/cable|\.\./);
  });

  test('comes back and hides a probe that does not', () => {
    const ran = run({
      bands,
      probes,
      series: { 'temperature/thermometer': `${'25.5 25.6 '.repeat(15)} .*90` },
      at: { 30: edge(false), 60: edge(true) },
    });
    const silent = transitions(ran).filter((line) => line.includes('temperature/silent_probe'));
    expect(silent).toEqual(['66 raised temperature/silent_probe']);
  });

  test('is an alarm although it was back within the minute', () => {
    const ran = run({ bands, probes: wired, series, at: { 10: edge(false), 11: edge(true) } });
    expect(transitions(ran).filter((line) => line.includes('edge_fault'))).toEqual([]);
  });
});

describe('one event on one stream', () => {
  test('is said three ways', () => {
    const ran = run({
      bands: { salinity: { low: 34, high: 36, mostPerDay: 0.5, mostPerHour: 0.4 } },
      series: { salinity: `${'35 35.01 '.repeat(60)} ${'33 33.01 '.repeat(60)} ${'35 35.01 '.repeat(800)}` },
    });
    const raised = ran.events.filter(({ state }) => state === 'raised').map(({ rule }) => rule);
    expect(raised.filter((rule) => rule !== 'rate')).toEqual(['out_of_band']);
  });
});

describe('people', () => {
  const series = { temperature: `${'25.5 25.6 '.repeat(10)} ${'27 27.1 '.repeat(60)} ${'25.5 25.6 '.repeat(15)}` };
  const alarm = 'tank/temperature/out_of_band/high';

  test('are told during maintenance, or not after it', () => {
    const ran = run({
      bands,
      series,
      at: { 15: { do: 'maintenance', system: 'tank', untilMs: mondayMs + 60 * minuteMs, by: 'ana' } },
    });
    // Judged anew from minute 60 on.
    expect(transitions(ran)[0]).toBe('65 raised temperature/out_of_band/high');
  });

  test('end a maintenance and hear nothing', () => {
    const ran = run({
      bands,
      series,
      at: {
        15: { do: 'maintenance', system: 'tank', untilMs: mondayMs + 600 * minuteMs, by: 'ana' },
        40: { do: 'end_maintenance', system: 'tank', by: 'ana' },
      },
    });
    expect(transitions(ran)[0]).toBe('46 raised temperature/out_of_band/high');
  });

  test('shelve an alarm for good', () => {
    const ran = run({
      bands,
      series,
      at: { 30: { do: 'shelve', alarm, untilMs: mondayMs + 60 * minuteMs, by: 'ana', why: 'chiller is late' } },
    });
    expect(ran.events.map(({ state, occurrence, by }) => `${state} ${occurrence} ${by ?? ''}`.trim())).toEqual([
      'raised 1',
      'shelved 1 ana',
      'unshelved 1',
      'reraised 2',
      'cleared 2',
    ]);
    expect(ran.events.map(({ why }) => why)).toEqual([undefined, 'chiller is late', undefined, undefined, undefined]);
  });

  test('acknowledge and the alarm forgets it, or never comes back while it lasts', () => {
    const ran = run({
      bands,
      overrides: [{ rule: 'out_of_band', reAlarmMs: 30 * minuteMs }],
      series,
      at: { 40: { do: 'acknowledge', alarm, by: 'ana' } },
    });
    expect(transitions(ran)).toEqual([
      '25 raised temperature/out_of_band/high',
      '40 acknowledged temperature/out_of_band/high',
      '70 reraised temperature/out_of_band/high',
      '150 cleared temperature/out_of_band/high',
    ]);
  });

  test('never see an alarm that cleared by itself', () => {
    const ran = run({ bands, series: { temperature: series.temperature } });
    const listed = alarmsOf(ran.rules, ran.state, ran.nowMs);
    expect(listed.map(({ id, state, isStanding }) => ({ id, state, isStanding }))).toEqual([
      { id: alarm, state: 'returned_unacknowledged', isStanding: false },
    ]);
  });
});
