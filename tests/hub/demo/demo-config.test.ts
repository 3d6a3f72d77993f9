import { describe, expect, it } from 'vitest';
import { decodeKeyValue } from '../../../adapters/decoders/key-value.ts';
import { decodeSenml } from '../../../adapters/decoders/senml.ts';
import { demoConfig, demoTimezone, demoUtcOffsetMinutes } from '../../../hub/demo/demo-config.ts';
import { calciumChlorideStock, sodiumCarbonateStock } from '../../../hub/demo/hand-work.ts';
import { inventedSystems } from '../../../hub/demo/reef-system.ts';
import { quietRoom, readProbes } from '../../../hub/demo/room.ts';
import { seededRandom } from '../../../hub/demo/seeded-random.ts';
import { boardLine, overNoisyCable, senmlPack, topics } from '../../../hub/demo/wire-format.ts';
import { toStoreUnit } from '../../../rules/quantity/unit.ts';
import { examplePlace, loadedDemoConfig } from './demo-room.ts';

const readings = readProbes(quietRoom(Date.UTC(2026, 0, 5), 0), seededRandom(9));
const of = (system: string) => readings.filter((reading) => reading.system === system);
const context = { nowMs: 0 };

describe('the configuration of the demonstration', () => {
  it('is one that the hub starts with, without a warning, with its own paths and ports', () => {
    const config = loadedDemoConfig();
    expect(config.serial.map(({ path }) => path)).toEqual([examplePlace.ptyPath]);
    expect([config.broker.port, config.http.port]).toEqual([examplePlace.brokerPort, examplePlace.httpPort]);
    expect(config.data_dir).toBe(examplePlace.dataDir);
    expect(config.weekly.dir.startsWith(examplePlace.dataDir)).toBe(true);
    expect(config.site.timezone).toBe(demoTimezone);
  });

  it('names the same systems, volumes, probes and stocks as the simulated room', () => {
    const config = loadedDemoConfig();
    expect(config.systems.map(({ id, volume_l, name }) => ({ id, volume_l, name }))).toEqual(
      inventedSystems.map(({ id, volumeL, name }) => ({ id, volume_l: volumeL, name })),
    );
    const simulated = inventedSystems.flatMap(({ id, probes }) =>
      probes.map((probe) => `${id} ${probe.id} ${probe.metric}`),
    );
    expect(config.probes.map(({ system, id, metric }) => `${system} ${id} ${metric}`)).toEqual(simulated);
    for (const { stocks } of config.systems) {
      expect(stocks.map(({ id }) => id)).toEqual([sodiumCarbonateStock, calciumChlorideStock]);
    }
  });

  it('tells a reader that everything in it is invented, and keeps its comments in the copy that runs', () => {
    const text = demoConfig(examplePlace);
    expect(text).toContain('# The configuration of the demonstration: an invented fish room');
    expect(text).toContain('# ONLY FOR THE DEMONSTRATION');
    const config = loadedDemoConfig();
    for (const name of [config.site.name, ...config.systems.map((system) => system.name)])
      expect(name).toContain('(invented)');
  });

  it('finds on the wire each number that a simulated probe shows, in its unit', () => {
    for (const ptyPath of [examplePlace.ptyPath, undefined]) {
      const config = loadedDemoConfig({ ...examplePlace, ptyPath });
      const line = decodeKeyValue(boardLine(of('display')), context);
      const pack = decodeSenml(senmlPack('growout', of('growout')), context);
      if (!line.ok || !pack.ok) throw new Error('a payload of the demonstration cannot be read');
      expect(config.serial.length).toBe(ptyPath === undefined ? 0 : 1);
      for (const probe of config.probes) {
        const shown = readings.find((reading) => reading.probe === probe.id)?.value;
        const channel = probe.serial?.channel ?? probe.mqtt?.channel ?? '';
        const { topic, format } = probe.mqtt ?? {};
        if (probe.system === 'display') {
          if (ptyPath === undefined)
            expect({ topic, format }).toEqual({ topic: topics.displayBoard, format: 'key_value' });
          else expect(probe.serial?.port).toBe(config.serial[0]?.id);
          expect(line.values.find((value) => value.channel === channel)?.value, probe.id).toBeCloseTo(
            shown ?? Number.NaN,
            9,
          );
        } else if (probe.system === 'growout') {
          expect({ topic, format }).toEqual({ topic: topics.growoutPack, format: 'senml' });
          const found = pack.values.find((value) => value.channel === channel);
          const stored = toStoreUnit(probe.metric, found?.value ?? Number.NaN, found?.unit ?? '');
          expect(stored, probe.id).toBeCloseTo(shown ?? Number.NaN, 9);
        } else {
          expect(Object.values(topics.quarantine), probe.id).toContain(topic);
          expect({ format, channel }).toEqual({ format: 'number', channel: '' });
        }
      }
    }
  });

  it('dates the room by the clock of its zone, summer time included', () => {
    // IANA Europe/Lisbon: UTC in winter, UTC+1 from the last Sunday of March to that of October.
    expect(demoUtcOffsetMinutes(Date.UTC(2026, 0, 5))).toBe(0);
    expect(demoUtcOffsetMinutes(Date.UTC(2026, 6, 5))).toBe(60);
  });
});

describe('a line over the noisy cable', () => {
  it('is as a rule whole, and a spoilt one gives no number that the board did not say', () => {
    const random = seededRandom(33);
    const sent = new Set<string>();
    const said = new Map([
      ['t', new Set<number>()],
      ['ph', new Set([8.21])],
      ['ec', new Set([53.12])],
    ]);
    let stream = Buffer.alloc(0);
    for (let count = 0; count < 3000; count += 1) {
      const line = `t=${(25 + count / 10_000).toFixed(4)} ph=8.21 ec=53.12`;
      sent.add(line);
      said.get('t')?.add(Number((25 + count / 10_000).toFixed(4)));
      stream = Buffer.concat([stream, overNoisyCable(line, random)]);
    }
    const lines = stream.toString('latin1').split('\n').slice(0, -1);
    const spoilt = lines.filter((line) => !sent.has(line));
    expect(spoilt.length).toBeGreaterThan(50);
    expect(spoilt.length).toBeLessThan(300);
    // A torn name that runs into the next (`pht=25.1`) is a channel that no probe has; a torn number would be a wrong value.
    const wrong = spoilt.filter((line) => {
      const decoded = decodeKeyValue(line, context);
      return decoded.ok && decoded.values.some(({ channel, value }) => said.get(channel)?.has(value) === false);
    });
    expect(wrong).toEqual([]);
  });
});
