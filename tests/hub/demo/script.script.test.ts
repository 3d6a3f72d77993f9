import { describe, expect, it, vi } from 'vitest';
import { playHistory } from '../../../hub/demo/history.ts';
import { systemOf } from '../../../hub/demo/room.ts';
import { type DemoEvent, openingOf, type Play, stepPlay, usualSpeed } from '../../../hub/demo/script.ts';
import { seededRandom } from '../../../hub/demo/seeded-random.ts';
import { salinityOf } from '../../../hub/demo/water.ts';
import { patience } from '../../servers/server-process.ts';
import { loadedDemoConfig } from './demo-room.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

/** The play second by second from a start at that hour. */
function* playFrom(hour: number, seconds: number): Generator<{ play: Play; events: DemoEvent[] }> {
  const random = seededRandom(100 + hour);
  const nowMs = Date.UTC(2026, 5, 9, hour, 12);
  const nowhere = { readings: () => {}, enter: () => {} };
  let play = openingOf(playHistory(nowMs, 60, random, nowhere, { journalDays: 2, readingDays: 0 }));
  for (let second = 0; second < seconds; second += 1) {
    const next = stepPlay(play, 1, usualSpeed, random);
    play = next.play;
    yield next;
  }
}

const config = loadedDemoConfig();
const bandOf = (system: string, metric: 'temperature' | 'salinity') => {
  const band = config.systems.find(({ id }) => id === system)?.bands[metric];
  if (band === undefined) throw new Error(`no band of ${metric} for ${system}`);
  return band;
};
const delaysS = (metric: string) => {
  const rule = config.rules.find((entry) => entry.rule === 'out_of_band' && entry.metric === metric);
  return { onS: (rule?.on_delay_minutes ?? 5) * 60, offS: (rule?.off_delay_minutes ?? 10) * 60 };
};

describe('the script of the demonstration', () => {
  it('shows a heat alarm and its end within five minutes, whatever the hour of the start', () => {
    const { low, high } = bandOf('display', 'temperature');
    const { onS, offS } = delaysS('temperature');
    for (let hour = 0; hour < 24; hour += 1) {
      let aboveSinceS: number | undefined;
      let backSinceS: number | undefined;
      let raisedAtS: number | undefined;
      let clearedAtS: number | undefined;
      let mostPerMinute = 0;
      let before_C: number | undefined;
      for (const { play } of playFrom(hour, 300)) {
        const { temperature_C } = systemOf(play.room, 'display').water;
        mostPerMinute = Math.max(mostPerMinute, Math.abs(temperature_C - (before_C ?? temperature_C)) * 60);
        before_C = temperature_C;
        if (play.elapsedS < 45) expect(temperature_C, `${hour} h`).toBeLessThan(high - 0.2);
        aboveSinceS = temperature_C > high ? (aboveSinceS ?? play.elapsedS) : undefined;
        if (aboveSinceS !== undefined && play.elapsedS - aboveSinceS >= onS) raisedAtS ??= play.elapsedS;
        // The deadband that bands bring along: a tenth of their width.
        const isBack = temperature_C < high - (high - low) / 10;
        backSinceS = raisedAtS !== undefined && isBack ? (backSinceS ?? play.elapsedS) : undefined;
        if (backSinceS !== undefined && play.elapsedS - backSinceS >= offS) clearedAtS ??= play.elapsedS;
      }
      expect(raisedAtS, `raised, start at ${hour} h`).toBeDefined();
      expect(clearedAtS, `cleared, start at ${hour} h`).toBeLessThan(290);
      // Faster water than 0.5 °C a minute looks like a broken probe to the quality checks.
      expect(mostPerMinute, `start at ${hour} h`).toBeLessThan(0.5);
    }
  });

  it('goes on with a stuck float and an empty reservoir, each seen in salinity and mended', () => {
    const said: string[] = [];
    const worst = { quarantine: 35, growout: 35 };
    let last: Play | undefined;
    for (const { play, events } of playFrom(10, 1500)) {
      last = play;
      said.push(...events.flatMap((event) => (event.kind === 'said' ? [event.system] : [])));
      worst.quarantine = Math.min(worst.quarantine, salinityOf(systemOf(play.room, 'quarantine').water));
      worst.growout = Math.max(worst.growout, salinityOf(systemOf(play.room, 'growout').water));
    }
    expect(said).toEqual([...Array(3).fill('display'), ...Array(3).fill('quarantine'), ...Array(3).fill('growout')]);
    expect(worst.quarantine).toBeLessThan(bandOf('quarantine', 'salinity').low - 0.3);
    expect(worst.growout).toBeGreaterThan(bandOf('growout', 'salinity').high + 0.1);
    for (const { setup, water, faults, remedies, pace } of last?.room.systems ?? []) {
      expect({ faults, remedies, pace }).toEqual({ faults: [], remedies: [], pace: { heat: 1, level: 1 } });
      expect(salinityOf(water), setup.id).toBeGreaterThan(bandOf(setup.id, 'salinity').low);
      expect(salinityOf(water), setup.id).toBeLessThan(bandOf(setup.id, 'salinity').high);
    }
  });

  it('has the keeper test the display twice within the first minute, near what its water is', () => {
    const tests: { analyte: string; value: number }[] = [];
    for (const { events } of playFrom(15, 60)) {
      for (const event of events) {
        if (event.kind === 'entered' && event.given.kind === 'test') tests.push(event.given.entry);
      }
    }
    expect(tests.map(({ analyte }) => analyte)).toEqual(['alkalinity', 'calcium']);
    expect(tests[0]?.value).toBeGreaterThan(7);
    expect(tests[0]?.value).toBeLessThan(9.5);
  });

  it('keeps lamps and corals on the clock while a system is hurried', () => {
    let last: Play | undefined;
    for (const { play } of playFrom(12, 300)) last = play;
    expect(last?.room.timeMs).toBe(Date.UTC(2026, 5, 9, 12, 17));
  });

  it('is the same again from the same seed', () => {
    const ended = () => JSON.stringify([...playFrom(8, 200)].at(-1));
    expect(ended()).toBe(ended());
  });
});
