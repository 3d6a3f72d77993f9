import { describe, expect, test } from 'vitest';
import { type SlotName, slots } from '#rules/bands/kinds/list.ts';
import { emptyRoomState, rulesForRoom } from '#rules/bands/room.ts';
import { indexOf, type Stream, streamOf } from '#rules/bands/room-index.ts';
import type { Figures } from '#rules/bands/room-state.ts';
import { streamMessage, streamReturnMessage } from '#rules/bands/stream-messages.ts';
import type { Bands, WatchedProbe } from '#rules/bands/watched-room.ts';
import { type Metric, metrics } from '#rules/quantity/metric.ts';
import { firstCheck, probeCheck } from '#rules/words/first-checks.ts';
import { hourMs, minuteMs, mondayMs } from './script.ts';

// The sentences are the project's own; what to check first is common practice, no published source.

/** Every sentence that wakes a keeper: what, value with its unit, band, since when, and the first thing to check. */

const fullBands: Bands = {
  temperature: { low: 25, high: 26.5, mostPerHour: 0.5, mostPerDay: 1 },
  ph: { low: 7.8, high: 8.4 },
  salinity: { low: 34, high: 36, mostPerDay: 0.5 },
};

/** A stream with what its rules found last. */
function streamWith(
  metric: Metric,
  given: { bands?: Bands; value?: number | null; figures?: Partial<Figures>; probes?: WatchedProbe[] } = {},
): Stream {
  const rules = rulesForRoom({
    systems: [{ id: 't', name: 'T', volumeL: 400, bands: given.bands ?? fullBands, probes: given.probes ?? [] }],
    overrides: [],
  });
  const state = emptyRoomState();
  const stream = streamOf(indexOf(rules, state, mondayMs), { system: 't', metric, probe: 'one' })!;
  stream.series.goodValue = given.value === undefined ? 27.125 : given.value;
  stream.series.hasSpoken = true;
  Object.assign(stream.series.figures, given.figures);
  return stream;
}

function said(stream: Stream, slot: SlotName, hint = '', heldMs = 12 * minuteMs): string {
  return streamMessage(stream, slot, mondayMs, mondayMs + heldMs, hint);
}

const heater = 'Check that the heater is not stuck on, then fans, chiller and room.';
const power = 'Check that the heater is powered and heating, then the flow past it.';

describe('the sentence of an alarm', () => {
  test.each<[SlotName, Partial<Figures>, string]>([
    ['above', {}, `Temperature is 27.13 °C, above the band 25 to 26.5 °C for 12 min. ${heater}`],
    [
      'rate',
      { moveInHour: 0.625 },
      `Temperature rose by 0.625 °C within the last hour, more than 0.5 °C; it is 27.13 °C now (band 25 to 26.5 °C). ${heater}`,
    ],
    [
      'rate',
      { moveInHour: -0.625 },
      `Temperature fell by 0.625 °C within the last hour, more than 0.5 °C; it is 27.13 °C now (band 25 to 26.5 °C). ${power}`,
    ],
    [
      'swing',
      { swing: 1.25 },
      'Temperature moved by 1.25 °C within a day, more than 1 °C; it is 27.13 °C now (band 25 to 26.5 °C). Look at its curve of the last day.',
    ],
    [
      'drift',
      { perDay: 0.25, hoursToLeave: 30 },
      `Temperature slowly rises, about 0.25 °C a day, and may leave the band 25 to 26.5 °C in 30 h; it is 27.13 °C now. ${heater}`,
    ],
    [
      'drift',
      { perDay: -0.25, hoursToLeave: 30 },
      `Temperature slowly falls, about 0.25 °C a day, and may leave the band 25 to 26.5 °C in 30 h; it is 27.13 °C now. ${power}`,
    ],
    [
      'departure',
      { distanceFromUsual: 0.5 },
      `Temperature is 27.13 °C, 0.5 °C above what is usual for this hour for 12 min (band 25 to 26.5 °C). ${heater}`,
    ],
    [
      'departure',
      { distanceFromUsual: -0.5 },
      `Temperature is 27.13 °C, 0.5 °C below what is usual for this hour for 12 min (band 25 to 26.5 °C). ${power}`,
    ],
    [
      'silent',
      {},
      "Temperature: no reading for 12 min. The last good value was 27.13 °C. Check the probe's power and its cable.",
    ],
    [
      'impossible',
      {},
      'Temperature: most readings of the last minutes are impossible. The last good value was 27.13 °C. Check the probe, its cable and its plug.',
    ],
    [
      'disagree',
      { difference: 0.75, oddProbe: 'left' },
      'Temperature: its probes differ by 0.75 °C for 12 min. Check left first, against a hand instrument.',
    ],
  ])('%s with %j sends the keeper the wrong way', (slot, figures, sentence) => {
    expect(said(streamWith('temperature', { figures }), slot)).toBe(sentence);
  });

  test('about a value below its band, or just back inside, says another place', () => {
    const below = (value: number) => said(streamWith('temperature', { value }), 'below');
    expect(below(24.125)).toBe(`Temperature is 24.13 °C, below the band 25 to 26.5 °C for 12 min. ${power}`);
    expect(below(25.125)).toBe(`Temperature is 25.13 °C, just back inside the band 25 to 26.5 °C. ${power}`);
  });

  test('about a stuck probe does not say since when', () => {
    const stream = streamWith('ph', { value: 8.1 });
    stream.series.stuck.sinceMs = mondayMs - 5 * hourMs;
    expect(said(stream, 'flat', '', 0)).toBe(
      'pH has shown exactly the same value for 5 h: the probe is probably stuck. Check that the probe is plugged in and submerged.',
    );
  });

  test('about a probe that never spoke, or never said anything good, speaks of a last value', () => {
    const never = streamWith('temperature', { value: null });
    never.series.hasSpoken = false;
    expect(said(never, 'silent')).toBe(
      'Temperature: the probe has not been heard for 12 min. Check its power and its cable.',
    );
    const nothingGood = streamWith('temperature', { value: null });
    expect(said(nothingGood, 'silent')).toBe(
      "Temperature: no reading for 12 min. Check the probe's power and its cable.",
    );
    expect(said(nothingGood, 'impossible')).toBe(
      'Temperature: most readings of the last minutes are impossible. Check the probe, its cable and its plug.',
    );
    expect(said(nothingGood, 'above')).toMatch(/^Temperature is no value, above/);
  });

  test('speaks of a band that is not there, or of a hold of no time', () => {
    const bare = streamWith('temperature', { bands: {}, figures: { moveInHour: 1, swing: 1, distanceFromUsual: 1 } });
    for (const slot of ['rate', 'swing', 'departure'] as const) expect(said(bare, slot)).not.toMatch(/band|undefined/);
    expect(said(bare, 'rate')).toContain('more than 0 °C; it is 27.13 °C now. ');
    expect(said(bare, 'swing')).toContain('more than 0 °C; it is 27.13 °C now. ');
    const stream = streamWith('temperature');
    expect(said(stream, 'above', '', minuteMs - 1)).toContain('26.5 °C. Check');
    expect(said(stream, 'above', '', minuteMs)).toContain('26.5 °C for 1 min. Check');
    expect(said(streamWith('temperature', { figures: { perDay: 1 } }), 'drift')).toContain('in less than a minute;');
  });

  test('leaves out what the room says about the cause', () => {
    const figures = { moveInHour: 1, distanceFromUsual: 1 };
    for (const slot of ['above', 'below', 'rate', 'departure'] as const) {
      expect(said(streamWith('temperature', { figures }), slot, 'The room is hot.')).toMatch(
        /\. The room is hot\. Check/,
      );
    }
  });

  test.each<[SlotName, string]>([
    ['above', 'Temperature is back in the band: 25.50 °C.'],
    ['below', 'Temperature is back in the band: 25.50 °C.'],
    ['silent', 'Temperature is heard again: 25.50 °C.'],
    ['flat', 'Temperature moves again: 25.50 °C.'],
    ['impossible', 'Temperature reads plausibly again: 25.50 °C.'],
    ['disagree', 'Temperature: its probes agree again.'],
    ['rate', 'Temperature is steady again: 25.50 °C.'],
    ['drift', 'Temperature is steady again: 25.50 °C.'],
  ])('%s does not say that it is over', (slot, sentence) => {
    expect(streamReturnMessage(streamWith('temperature', { value: 25.5 }), slot)).toBe(sentence);
    const bare = streamReturnMessage(streamWith('temperature', { value: null }), slot);
    expect(bare).toBe(sentence.replace(/: 25.50 °C/, ''));
  });

  test('does not say which of two probes it means', () => {
    const probes = ['one', 'two'].map((id) => ({ id, metric: 'temperature' as const }));
    for (const slot of Object.keys(slots) as SlotName[]) {
      const start = slot === 'disagree' ? /^Temperature: / : /^Temperature \(one\)/;
      const stream = streamWith('temperature', { probes });
      expect(said(stream, slot)).toMatch(start);
      expect(streamReturnMessage(stream, slot)).toMatch(start);
    }
  });
});

describe('the first thing to check', () => {
  const fallback = 'Test again before you change anything.';

  test('is missing, or is no sentence', () => {
    for (const metric of metrics) {
      for (const side of ['high', 'low'] as const) expect(firstCheck(metric, side)).toMatch(/^[A-Z].{12,}\.$/);
      expect(probeCheck(metric)).toMatch(/^Check .{12,}\.$/);
    }
    // What is rarely tested has no cause of its own.
    const plain = metrics.filter((metric) => firstCheck(metric, 'high') === fallback);
    expect(plain).toEqual(['potassium', 'iodide', 'aragonite_saturation']);
  });

  test('lets a dosing run on while something is too high, or asks to dose before a second test', () => {
    for (const metric of ['alkalinity', 'ph', 'orp'] as const) expect(firstCheck(metric, 'high')).toMatch(/^Stop /);
    for (const metric of ['calcium', 'magnesium'] as const)
      expect(firstCheck(metric, 'high')).toMatch(/pause its dosing/);
    for (const metric of ['alkalinity', 'calcium', 'magnesium', 'nitrate', 'phosphate'] as const) {
      expect(firstCheck(metric, 'low')).toMatch(/^Test again/);
    }
    expect(firstCheck('ph', 'low')).toMatch(/test the alkalinity before you dose/);
  });

  test('is the top-off for one measure of the salt, and something else for another', () => {
    const salty = ['salinity', 'conductivity', 'specific_conductance_25', 'specific_gravity'] as const;
    for (const metric of salty) {
      expect(firstCheck(metric, 'high')).toMatch(/top-off still adds/);
      expect(firstCheck(metric, 'low')).toMatch(/bubble.*stuck open/);
      expect(probeCheck(metric)).toMatch(/bubbles/);
    }
    expect(probeCheck('ph')).toMatch(/plugged in/);
    expect(probeCheck('level')).toMatch(/plug/);
    expect(firstCheck('nitrate', 'high')).toMatch(/export/);
    expect(firstCheck('phosphate', 'high')).toMatch(/export/);
    expect(firstCheck('level', 'low')).toMatch(/leak/);
    expect(firstCheck('par', 'high')).toMatch(/light/);
    expect(firstCheck('par', 'low')).toMatch(/light/);
    expect(firstCheck('pco2', 'high')).toMatch(/Ventilate/);
    expect(firstCheck('pco2', 'low')).toMatch(/sensor/);
  });
});
