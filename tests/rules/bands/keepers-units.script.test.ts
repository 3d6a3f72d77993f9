import { expect, test } from 'vitest';
import { emptyRoomState, rulesForRoom, stepRoom } from '#rules/bands/room.ts';
import type { KeepersUnits } from '#rules/bands/watched-room.ts';
import { amountText, bandText, isDisplayUnit, valueText } from '#rules/words/value-text.ts';

const units: KeepersUnits = { temperature: '°F', salinity: 'sg', alkalinity: 'meq/L', conductivity: 'µS/cm' };

test('a keeper who thinks in other units reads the wrong number in the night', () => {
  // 26.85 °C = 80.33 °F by definition of the scale; a difference of 0.5 °C is 0.9 °F.
  expect(valueText('temperature', 26.85, units)).toBe('80.33 °F');
  expect(amountText('temperature', 0.5, units)).toBe('0.9 °F');
  expect(amountText('temperature', -0.5, units)).toBe('-0.9 °F');
  expect(bandText('temperature', { low: 25, high: 26.5 }, units)).toBe('77 to 79.7 °F');
  // 1 meq/L = 2.80385 dKH (IUPAC 2021 weights; fixtures/reference/unit-conversions.csv)
  expect(valueText('alkalinity', 8.1, units)).toBe('2.89 meq/L');
  // sg_25_25 of S = 35: 1.026373 (fixtures/reference/seawater-density.csv)
  expect(valueText('salinity', 35, units)).toBe('1.0264 sg');
  expect(valueText('conductivity', 53.071, units)).toBe('53071 µS/cm');
  // Out of the range of the conversion the store's own value stands, not an error.
  expect(valueText('salinity', 0.5, units)).toBe('0.50');
  expect(valueText('ph', 8.1, units)).toBe('8.10');
});

test('the store has other units than the sentence, and they are mixed up', () => {
  const rules = rulesForRoom({
    systems: [{ id: 'd', name: 'Display', volumeL: 400, bands: { temperature: { low: 25, high: 26.5 } }, probes: [] }],
    overrides: [],
    displayUnits: units,
  });
  const startMs = Date.UTC(2026, 0, 5);
  let state = emptyRoomState();
  const events = [];
  for (let minute = 0; minute < 30; minute += 1) {
    const timeMs = startMs + minute * 60_000;
    const quality = { flag: 'pass' as const, value: 27.4 + (minute % 2) / 100 };
    const reading = { series: { system: 'd', metric: 'temperature' as const, probe: 't' }, timeMs, quality };
    const stepped = stepRoom(rules, state, { is: 'reading', reading }, timeMs);
    state = stepped.state;
    events.push(...stepped.events);
  }
  expect(events[0]?.message).toMatch(/Temperature is 81\.3\d °F, above the band 77 to 79\.7 °F/);
  expect(events[0]?.value).toBeCloseTo(27.4, 1);
});

test('a metric is to be shown in a unit that it cannot have', () => {
  expect(isDisplayUnit('temperature', '°F')).toBe(true);
  expect(isDisplayUnit('salinity', 'sg')).toBe(true);
  expect(isDisplayUnit('temperature', 'sg')).toBe(false);
});
