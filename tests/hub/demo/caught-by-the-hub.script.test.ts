import { describe, expect, it } from 'vitest';
import { createCarbonateStage } from '#hub/flow/pipeline/derive-carbonate.ts';
import type { Decoding } from '../../../adapters/decoders/decoder.ts';
import { decodeKeyValue } from '../../../adapters/decoders/key-value.ts';
import { decodeSenml } from '../../../adapters/decoders/senml.ts';
import type { Observation } from '../../../adapters/ports/observation.ts';
import { playHistory } from '../../../hub/demo/history.ts';
import { readProbes } from '../../../hub/demo/room.ts';
import { openingOf, type Play, stepPlay, usualSpeed } from '../../../hub/demo/script.ts';
import { seededRandom } from '../../../hub/demo/seeded-random.ts';
import { boardLine, senmlPack, topics } from '../../../hub/demo/wire-format.ts';
import { bindProbes } from '../../../hub/flow/pipeline/bound-probe.ts';
import { createPipeline } from '../../../hub/flow/pipeline/pipeline.ts';
import { watchedRoomFromConfig } from '../../../hub/model/config/watched-room.ts';
import type { Evidence } from '../../../rules/bands/evidence.ts';
import { emptyRoomState, rulesForRoom, stepRoom } from '../../../rules/bands/room.ts';
import type { Flag } from '../../../rules/quality/reading.ts';
import { loadedDemoConfig } from './demo-room.ts';

type Told = { atS: number; system: string; metric: string; rule: string; state: string };

const valuesOf = (decoded: Decoding) => (decoded.ok ? decoded.values : []);

/** What the devices send in this second, as the decoders of the hub understand it. */
function observationsAt(play: Play, second: number, random: () => number): Observation[] {
  const receivedMs = play.room.timeMs;
  const context = { nowMs: receivedMs };
  const readings = readProbes(play.room, random);
  const of = (system: string) => readings.filter((reading) => reading.system === system);
  const found: Observation[] = [];
  if (second % 2 === 0) {
    const values = valuesOf(decodeKeyValue(boardLine(of('display')), context));
    found.push(...values.map((value) => ({ ...value, source: 'serial:display-board', receivedMs })));
  }
  if (second % 5 === 0) {
    const pack = valuesOf(decodeSenml(senmlPack('growout', of('growout')), context));
    found.push(...pack.map((value) => ({ ...value, source: `mqtt:${topics.growoutPack}`, receivedMs })));
    for (const { metric, value } of of('quarantine')) {
      const topic = metric === 'temperature' ? topics.quarantine.temperature : topics.quarantine.conductivity;
      found.push({ source: `mqtt:${topic}`, channel: '', value, receivedMs });
    }
  }
  return found;
}

/** The play of 25 minutes through the pipeline and the rules that a hub with the demonstration's configuration runs. */
function watched(hour: number): { told: Told[]; flags: Map<Flag, number> } {
  const config = loadedDemoConfig();
  const rules = rulesForRoom(watchedRoomFromConfig(config));
  let state = emptyRoomState();
  const told: Told[] = [];
  const flags = new Map<Flag, number>();
  const random = seededRandom(50 + hour);
  const startMs = Date.UTC(2026, 8, 14, hour, 31);
  let play = openingOf(playHistory(startMs, 60, random, { readings: () => {}, enter: () => {} }));
  const offer = (evidence: Evidence) => {
    const { timeMs } = play.room;
    const stepped = stepRoom(rules, state, evidence, timeMs);
    state = stepped.state;
    for (const { system, metric, rule, state: next } of stepped.events) {
      told.push({ atS: Math.round((timeMs - startMs) / 1000), system, metric, rule, state: next });
    }
  };
  const pipeline = createPipeline(
    bindProbes(config),
    createCarbonateStage(config, () => undefined),
    {
      keep: () => {},
      watch: (readings) => {
        for (const reading of readings) {
          flags.set(reading.quality.flag, (flags.get(reading.quality.flag) ?? 0) + 1);
          offer({ is: 'reading', reading });
        }
      },
      show: () => {},
    },
  );
  for (let second = 0; second < 1500; second += 1) {
    const next = stepPlay(play, 1, usualSpeed, random);
    play = next.play;
    pipeline.accept(observationsAt(play, second, random), play.room.timeMs);
    for (const event of next.events) {
      if (event.kind !== 'entered' || event.given.kind !== 'test') continue;
      const { system, analyte, value, sd } = event.given.entry;
      offer({ is: 'test', system, analyte, value, timeMs: play.room.timeMs, ...(sd === undefined ? {} : { sd }) });
    }
    offer({ is: 'time' });
  }
  expect(pipeline.counts).toMatchObject({ unknown_channel: 0, no_usable_time: 0, wrong_unit: 0, not_finite: 0 });
  return { told, flags };
}

describe('a hub that watches the demonstration', () => {
  it.each([2, 8, 14, 20])(
    'started at %i h raises and clears one alarm for each thing that breaks, and no other',
    (hour) => {
      const { told, flags } = watched(hour);
      expect(told.map(({ system, metric, rule, state }) => `${system} ${metric} ${rule} ${state}`)).toEqual(
        ['display temperature', 'quarantine salinity', 'growout salinity'].flatMap((what) => [
          `${what} out_of_band raised`,
          `${what} out_of_band cleared`,
        ]),
      );
      expect(told[0]?.atS).toBeGreaterThan(60);
      expect(told[1]?.atS).toBeLessThan(300);
      // A hurried water that looked like a broken probe would be flagged.
      expect([...flags.keys()]).toEqual(['pass']);
    },
  );
});
