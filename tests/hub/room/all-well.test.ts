import { expect, test } from 'vitest';
import type { KeptReading } from '#adapters/ports/store.ts';
import { createAlarmCommands } from '#hub/judgement/watch/alarm-commands.ts';
import { configOf, roomText } from '../../servers/hub-process.ts';

const minuteMs = 60_000;
const nowMs = Date.UTC(2026, 9, 5, 8);

const config = configOf(
  roomText('/nowhere', {
    systems: [
      {
        ...{ id: 'display', name: 'Display tank', volume_l: 420 },
        bands: { temperature: { low: 25, high: 26.5 }, salinity: { low: 34, high: 36 } },
      },
    ],
    probes: [
      { id: 'heat', system: 'display', metric: 'temperature', mqtt: { topic: 'a' } },
      { id: 'cell', system: 'display', metric: 'conductivity', mqtt: { topic: 'b' }, temperature_probe: 'heat' },
    ],
  }),
);

/** The rules have learned that these probes speak at least so often. */
const silentAfterMs = 60 * minuteMs;

/** The answer to "all well?" in a room without an alarm whose newest readings are these. */
function answerWith(latest: Record<string, KeptReading>): string {
  let told = '';
  const desk = createAlarmCommands({
    today: () => '',
    config,
    store: { latest: ({ metric, probe }) => latest[`${probe} ${metric}`] },
    watch: {
      offer() {},
      standing: () => [],
      silence: (series) => ({
        isSilent: (latest[`${series.probe} ${series.metric}`]?.timeMs ?? 0) < nowMs - silentAfterMs,
        allowedMs: silentAfterMs,
      }),
    },
    now: () => nowMs,
    textOf: () => '',
    answer: (line) => {
      told = line;
    },
  });
  desk.fromPhone({ do: 'status' });
  return told;
}

const reading = (value: number, ageMinutes = 1, flag: KeptReading['flag'] = 'pass'): KeptReading => ({
  ...{ value, flag },
  timeMs: nowMs - ageMinutes * minuteMs,
});
const well = { 'heat temperature': reading(25.6), 'cell conductivity': reading(53), 'cell salinity': reading(35) };

test('a tank that has just left its band is called well, as its alarm waits for it to last', () => {
  expect(answerWith(well)).toMatch(/^All is well/);
  expect(answerWith({ ...well, 'heat temperature': reading(28.4) })).toBe(
    'No active alarm yet, but Display tank: Temperature is outside its band just now.',
  );
  // The probe measures conductivity; the band is that of what comes from it.
  expect(answerWith({ ...well, 'cell salinity': reading(32.5) })).toContain('Salinity is outside its band');
  expect(answerWith({ ...well, 'heat temperature': reading(24), 'cell salinity': reading(37) })).toMatch(
    /Temperature is outside its band just now\. 1 more with it\.$/,
  );
});

test('a number that no water can have, or an old one, is told as the state of the tank', () => {
  expect(answerWith({ ...well, 'heat temperature': reading(127, 1, 'fail') })).toMatch(/^All is well/);
  expect(answerWith({ ...well, 'heat temperature': reading(28.4, 90) })).toMatch(/^No active alarms, but the oldest/);
});
