import { describe, expect, test } from 'vitest';
import { ruleKinds } from '#rules/bands/kinds/list.ts';
import { planOf, probeKey, rulesForRoom } from '#rules/bands/room-rules.ts';
import { type RuleSettings, slots } from '#rules/bands/rule-settings.ts';
import { type Bands, priorities, type RuleOverride, type WatchedSystem } from '#rules/bands/watched-room.ts';
import { type Metric, metrics } from '#rules/quantity/metric.ts';
import { dayMs, hourMs, minuteMs } from './script.ts';

/** The rules that a band alone gives: common practice, no published source, but for the terms of IEC 62682. */

const band = { low: 10, high: 20, mostPerHour: 2, mostPerDay: 4 };

type Given = { bands?: Bands; overrides?: RuleOverride[]; system?: Partial<WatchedSystem> };

function rulesWith(metric: Metric, given: Given) {
  const system: WatchedSystem = {
    ...{ id: 't', name: 'T', volumeL: 400, bands: given.bands ?? { [metric]: band }, probes: [] },
    ...given.system,
  };
  return rulesForRoom({ systems: [system], overrides: given.overrides ?? [] });
}

function planWith(metric: Metric, given: Given = {}) {
  return planOf(rulesWith(metric, given), 't', metric)!;
}

/** The rules about a system and no metric of it. */
function ofSystem(given: Given = {}) {
  return rulesWith('alkalinity', given).ofSystems.get('t')!;
}

/** `priority limit deadband on-delay off-delay gap re-alarm`, times in minutes; off when it is. */
function told(settings: RuleSettings | undefined): string {
  if (settings === undefined) return 'off';
  const { priority, limit, deadband, onDelayMs, offDelayMs, gapToleranceMs, reAlarmMs } = settings;
  const gap = gapToleranceMs === Number.MAX_SAFE_INTEGER ? 'none' : gapToleranceMs / minuteMs;
  const minutes = [onDelayMs / minuteMs, offDelayMs / minuteMs, gap, (reAlarmMs ?? Number.NaN) / minuteMs];
  return [priority, limit, deadband, ...minutes].join(' ');
}

describe('a band alone', () => {
  const temperature = planWith('temperature');
  const alkalinity = planWith('alkalinity');
  const high = (8 * hourMs) / minuteMs;
  const medium = dayMs / minuteMs;
  const low = (7 * dayMs) / minuteMs;

  test.each([
    // The edges, a tenth of the band to return to, five minutes out and ten back; raised again after a working day.
    ['above', temperature.stream.above, `high 20 1 5 10 10 ${high}`],
    ['below', temperature.stream.below, `high 10 1 5 10 10 ${high}`],
    // The limit of an hour and of a day, one step less urgent; medians come every five minutes, so their gaps are longer.
    ['rate', temperature.stream.rate, `medium 2 0.4 4 10 35 ${medium}`],
    ['swing', temperature.stream.swing, `medium 4 0.4 10 30 35 ${medium}`],
    // Two days ahead, by hourly values.
    ['drift', temperature.stream.drift, `medium 48 24 120 360 180 ${medium}`],
    // 0.35 of a band of 10 for temperature, half of it to return.
    ['departure', temperature.stream.departure, `low 3.5 1.75 30 60 35 ${low}`],
    ['silent', temperature.stream.silent, `medium 0 0 0 5 60 ${medium}`],
    // Its limit is a time: eight hours.
    ['flat', temperature.stream.flat, `medium ${8 * hourMs} 0 0 10 10 ${medium}`],
    ['impossible', temperature.stream.impossible, `medium 0.5 0.4 0 10 10 ${medium}`],
    ['disagree', temperature.stream.disagree, `medium 0.6 0.15 60 60 35 ${medium}`],
    // What is tested by hand has no delay, and no gap: what was last known stays.
    ['testAbove', alkalinity.other.testAbove, `high 20 0 0 0 none ${high}`],
    ['testBelow', alkalinity.other.testBelow, `high 10 0 0 0 none ${high}`],
    ['forecast', alkalinity.other.forecast, `medium 48 12 0 0 none ${medium}`],
    ['demandChanged', alkalinity.other.demandChanged, `low 0.3 0.15 0 0 none ${low}`],
    ['outOfStep', planWith('calcium').other.outOfStep, `low 0.4 0.15 0 0 none ${low}`],
    ['dosedNotMoved', alkalinity.other.dosedNotMoved, `medium 0.5 0.2 0 0 none ${medium}`],
    ['testOverdue', alkalinity.other.testOverdue, `low 7 0 0 0 none ${low}`],
    ['calibrationOverdue', temperature.other.calibrationOverdue, `low 365 0 0 0 none ${low}`],
    ['containerLow', ofSystem().containerLow, `low 5 2 0 0 none ${low}`],
  ] as const)('gives the rule %s other limits or delays', (_name, settings, text) => {
    expect(told(settings)).toBe(text);
  });

  test('names one rule by the name of another', () => {
    const { stream, other } = temperature;
    const names = Object.entries({ ...stream, ...other }).map(
      ([name, settings]) => `${name} ${settings?.rule ?? 'off'}`,
    );
    expect(names).toEqual([
      'above out_of_band',
      'below out_of_band',
      'rate rate',
      'swing swing',
      'departure departure',
      'drift drift',
      'silent silent_probe',
      'impossible impossible_value',
      'failing impossible_value',
      'flat flat_line',
      'disagree probes_disagree',
      'testAbove out_of_band',
      'testBelow out_of_band',
      'forecast drift',
      'demandChanged off',
      'outOfStep off',
      'dosedNotMoved off',
      'testOverdue off',
      'calibrationOverdue calibration_overdue',
      'containerLow off',
    ]);
    const alkalinityNames = Object.values(alkalinity.other).map((settings) => settings?.rule ?? 'off');
    expect(alkalinityNames).toEqual([
      'out_of_band',
      'out_of_band',
      'drift',
      'demand_changed',
      'off',
      'dosed_not_moved',
      'test_overdue',
      'off',
      'off',
    ]);
    expect(planWith('calcium').other.outOfStep?.rule).toBe('calcium_alkalinity_out_of_step');
  });

  // What kills within hours or a day wakes the keeper; what harms over weeks does not.
  test.each([
    ['high', ['temperature', 'ph', 'salinity', 'specific_gravity', 'alkalinity', 'level']],
    ['medium', ['conductivity', 'specific_conductance_25', 'calcium', 'magnesium']],
    ['low', ['nitrate', 'phosphate', 'potassium', 'iodide', 'orp', 'par', 'pco2', 'aragonite_saturation', 'room_co2']],
  ] as const)('is told at %s priority for a metric that deserves another', (priority, expected) => {
    const second = priority === 'high' ? 'medium' : 'low';
    for (const metric of expected) {
      const { stream, other } = planWith(metric);
      for (const rule of [stream.above, other.testAbove, other.testBelow]) expect(rule?.priority).toBe(priority);
      expect(stream.rate?.priority).toBe(second);
      expect(stream.swing?.priority).toBe(second);
    }
    expect(metrics.filter((metric) => planWith(metric).stream.above?.priority === priority).sort()).toEqual(
      [...expected].sort(),
    );
  });

  test('calls a metric dead that is tested by hand, or does not miss a probe', () => {
    const tested = metrics.filter((metric) => !planWith(metric).defaults.isStreamed);
    expect(tested).toEqual([
      ...['alkalinity', 'calcium', 'magnesium', 'nitrate', 'phosphate', 'potassium', 'iodide'],
      'aragonite_saturation',
    ]);
  });

  const on = (pick: (plan: ReturnType<typeof planWith>) => RuleSettings | undefined, bands?: Bands) =>
    metrics.filter((metric) => pick(planWith(metric, bands === undefined ? {} : { bands })) !== undefined);

  test('judges what has no course of a day, no two like probes, or stands still by nature', () => {
    const withCourse = ['temperature', 'ph', 'conductivity', 'specific_conductance_25', 'salinity', 'specific_gravity'];
    expect(on(({ stream }) => stream.departure)).toEqual(withCourse);
    expect(on(({ stream }) => stream.drift)).toEqual(withCourse);
    expect(on(({ stream }) => stream.disagree)).toEqual(withCourse);
    const sticking = ['temperature', 'ph', 'conductivity', 'specific_conductance_25', 'salinity', 'orp'];
    expect(on(({ stream }) => stream.flat)).toEqual(sticking);
    expect(on(({ other }) => other.calibrationOverdue)).toEqual([...withCourse, 'orp']);
  });

  test('asks about doses of what is never dosed', () => {
    const dosed = ['alkalinity', 'calcium', 'magnesium'];
    expect(on(({ other }) => other.demandChanged)).toEqual(dosed);
    expect(on(({ other }) => other.dosedNotMoved)).toEqual(dosed);
    expect(on(({ other }) => other.outOfStep)).toEqual(['calcium']);
  });

  test('calls the night too dark, or lamps and floats too fast', () => {
    expect(on(({ stream }) => stream.below)).toEqual(metrics.filter((metric) => metric !== 'par'));
    const stepping = ['orp', 'level', 'par', 'pco2', 'room_co2'];
    for (const metric of metrics) {
      const edges = { [metric]: { low: 10, high: 20 } };
      const { rate, swing } = planWith(metric, { bands: edges }).stream;
      // Four tenths of the band in an hour, unless the keeper gives a limit.
      expect(told(rate)).toMatch(stepping.includes(metric) ? /^off$/ : /^\w+ 4 0\.8 4 10 35 /);
      expect(swing).toBeUndefined();
      expect(planWith(metric).stream.rate?.limit).toBe(2);
    }
  });

  test('asks for a test that nobody asked for, or not every so many days', () => {
    const days = (metric: Metric, system: Partial<WatchedSystem> = {}) =>
      planWith(metric, { system }).other.testOverdue?.limit;
    expect(metrics.filter((metric) => days(metric) !== undefined)).toEqual([
      ...['alkalinity', 'calcium', 'magnesium', 'nitrate', 'phosphate', 'potassium', 'iodide'],
    ]);
    expect(days('alkalinity', { testEveryDays: { alkalinity: 3 } })).toBe(3);
    expect(days('alkalinity', { bands: {} })).toBeUndefined();
    expect(days('alkalinity', { bands: {}, testEveryDays: { alkalinity: 3 } })).toBe(3);
    expect(days('temperature', { testEveryDays: { temperature: 5 } })).toBe(5);
  });
});

test('a metric without a band is judged by one, or its dead probe is not missed', () => {
  for (const metric of metrics) {
    const { stream, other } = planWith(metric, { bands: {} });
    const rules = Object.entries(stream).filter(([, settings]) => settings !== undefined);
    for (const [name, settings] of rules) {
      expect(['silent', 'flat', 'impossible', 'failing', 'disagree']).toContain(name);
      expect(settings?.priority).toBe(name === 'disagree' ? 'medium' : 'low');
    }
    expect(stream.silent).toBeDefined();
    expect(stream.impossible).toBeDefined();
    expect([other.testAbove, other.testBelow, other.forecast]).toEqual([undefined, undefined, undefined]);
  }
});

describe('an entry of the rules', () => {
  const limits: RuleOverride = {
    ...{ rule: 'out_of_band', priority: 'low', onDelayMs: 1, offDelayMs: 2, deadband: 3 },
    ...{ gapToleranceMs: 4, reAlarmMs: 5 },
  };

  test('does not hold, or changes what it does not name', () => {
    const { stream } = planWith('temperature', { overrides: [limits] });
    expect(stream.above).toEqual({ ...limits, limit: 20 });
    expect(stream.below).toEqual({ ...limits, limit: 10 });
    expect(stream.rate).toEqual(planWith('temperature').stream.rate);
    const nothing = planWith('temperature', { overrides: [{ rule: 'out_of_band' }] });
    expect(nothing.stream.above).toEqual(planWith('temperature').stream.above);
    const zero = planWith('temperature', { overrides: [{ rule: 'out_of_band', onDelayMs: 0, deadband: 0 }] });
    expect(zero.stream.above).toMatchObject({ onDelayMs: 0, deadband: 0, offDelayMs: 10 * minuteMs });
  });

  test('for one system or metric holds for another, or an earlier one wins', () => {
    const above = (...overrides: RuleOverride[]) => planWith('temperature', { overrides }).stream.above?.onDelayMs;
    const entry = (onDelayMs: number, where: Partial<RuleOverride>): RuleOverride => {
      return { rule: 'out_of_band', onDelayMs, ...where };
    };
    const usual = 5 * minuteMs;
    expect(above(entry(1, { system: 't' }))).toBe(1);
    expect(above(entry(1, { system: 'u' }))).toBe(usual);
    expect(above(entry(1, { metric: 'temperature' }))).toBe(1);
    expect(above(entry(1, { metric: 'ph' }))).toBe(usual);
    expect(above(entry(1, { system: 't', metric: 'ph' }))).toBe(usual);
    expect(above(entry(1, { system: 'u', metric: 'temperature' }))).toBe(usual);
    expect(above(entry(1, {}), entry(2, {}))).toBe(2);
    expect(above(entry(1, {}), entry(2, { metric: 'ph' }))).toBe(1);
    expect(above(entry(1, {}), { rule: 'out_of_band', priority: 'low' })).toBe(1);
  });

  test('cannot switch a rule off, or one on that is off by itself', () => {
    const off = planWith('temperature', { overrides: [{ rule: 'out_of_band', enabled: false }] });
    expect([off.stream.above, off.stream.below, off.other.testAbove]).toEqual([undefined, undefined, undefined]);
    expect(off.stream.rate).toBeDefined();
    const enabled = (rule: RuleOverride['rule']) => ({ overrides: [{ rule, enabled: true }] });
    expect(planWith('par', enabled('out_of_band')).stream.below?.limit).toBe(10);
    // A fifth of the band, and stuck at once, for what has no number of its own.
    expect(planWith('level', enabled('departure')).stream.departure).toMatchObject({ limit: 2, deadband: 1 });
    expect(planWith('level', enabled('drift')).stream.drift?.limit).toBe(48);
    expect(planWith('level', enabled('flat_line')).stream.flat?.limit).toBe(0);
    const again: RuleOverride[] = [
      { rule: 'out_of_band', enabled: false },
      { rule: 'out_of_band', enabled: true, metric: 'temperature' },
    ];
    expect(planWith('temperature', { overrides: again }).stream.above).toBeDefined();
  });
});

test('a probe is looked for under another system or metric, or two are not told apart', () => {
  const probes = [
    { id: 'a', metric: 'temperature' as const },
    { id: 'b', metric: 'temperature' as const },
    { id: 'a', metric: 'ph' as const },
  ];
  const rules = rulesForRoom({
    systems: [{ id: 't', name: 'T', volumeL: 400, bands: {}, probes }],
    overrides: [],
    displayUnits: { temperature: '°F' },
  });
  expect([...rules.probes.keys()]).toEqual(['t/temperature/a', 't/temperature/b', 't/ph/a']);
  expect(rules.probes.get(probeKey('t', 'ph', 'a'))).toEqual({ system: 't', probe: probes[2] });
  expect(planOf(rules, 't', 'temperature')).toMatchObject({ isProbeNamed: true, system: 't', metric: 'temperature' });
  expect(planOf(rules, 't', 'ph')).toMatchObject({ isProbeNamed: false, units: { temperature: '°F' } });
  expect(planOf(rules, 'u', 'ph')).toBeUndefined();
  expect(planWith('ph').units).toEqual({});
});

test('a kind of rule can be named that no metric has, or one is there that nobody can switch off', () => {
  const enabled = ruleKinds.map((rule): RuleOverride => ({ rule, enabled: true }));
  const used = metrics.flatMap((metric) => {
    const { stream, other } = planWith(metric, { overrides: enabled });
    return [...Object.values(stream), ...Object.values(other), ...Object.values(ofSystem({ overrides: enabled }))].map(
      (settings) => settings?.rule,
    );
  });
  expect(new Set(used.filter((rule) => rule !== undefined))).toEqual(new Set(ruleKinds));
  // The most urgent first: lists and notices are sorted by it (IEC 62682).
  expect(priorities).toEqual(['high', 'medium', 'low']);
});

test('a stored alarm is another after an update', () => {
  // Places in the stored list: a number never changes its meaning.
  expect(Object.entries(slots).sort(([, a], [, b]) => a - b)).toEqual(
    [
      ...['above', 'below', 'rate', 'swing', 'drift', 'departure'],
      ...['silent', 'flat', 'impossible', 'disagree', 'failing'],
    ].map((name, place) => [name, place]),
  );
});
