import { describe, expect, test } from 'vitest';
import { createLatestReadings } from '#hub/outside/outward/latest-readings.ts';
import type { Reading } from '#rules/quality/reading.ts';

function broker() {
  const retained = new Map<string, string>();
  const sent: string[] = [];
  return {
    isUp: true,
    retained,
    sent,
    state() {
      return { name: 'mqtt', isUp: this.isUp, counts: {} };
    },
    publish(topic: string, payload: string | Buffer): Promise<void> {
      if (!this.isUp) return Promise.reject(new Error('away'));
      sent.push(topic);
      if (payload === '') retained.delete(topic);
      else retained.set(topic, String(payload));
      return Promise.resolve();
    },
  };
}

function documents() {
  const kept = new Map<string, string>();
  return {
    document: (name: string) => kept.get(name),
    commit: (commit: { documents?: { name: string; body: string }[] }) => {
      for (const { name, body } of commit.documents ?? []) kept.set(name, body);
      return [];
    },
  };
}

const reading = (probe: string, timeMs: number, value: number): Reading => ({
  series: { system: 'display', metric: 'temperature', probe },
  timeMs,
  quality: { flag: 'pass', value },
});
const topic = (probe: string) => `reef/readings/display/temperature/${probe}`;

describe('the newest readings on the broker', () => {
  const silent = new Set<string>();
  const make = (link: ReturnType<typeof broker>, store: ReturnType<typeof documents>, ours: readonly string[]) =>
    createLatestReadings({
      ...{ prefix: 'reef', store, link: () => link, isSilent: ({ probe }) => silent.has(probe) },
      isOurs: ({ probe }) => ours.includes(probe),
    });

  test('an old reading replaces a newer one, or the same is said again and again', async () => {
    const link = broker();
    const latest = make(link, documents(), ['a']);
    latest.take([reading('a', 2000, 25.2), reading('a', 1000, 25.1)]);
    latest.publish();
    latest.publish();
    expect(link.sent).toEqual([topic('a')]);
    expect(link.retained.get(topic('a'))).toContain('"v":25.2');
  });

  test('a probe that fell silent, or speaks again, is not told of until its next reading', async () => {
    const link = broker();
    const latest = make(link, documents(), ['a']);
    latest.take([reading('a', 1000, 25.1)]);
    latest.publish();
    silent.add('a');
    latest.publish();
    latest.publish();
    expect(link.sent).toHaveLength(2);
    expect(link.retained.get(topic('a'))).toContain('"n":"a/silent","vb":true');
    silent.delete('a');
    latest.publish();
    expect(link.retained.get(topic('a'))).not.toContain('silent');
  });

  test('what was measured while the broker was away is missing when it is back', async () => {
    const link = broker();
    const latest = make(link, documents(), ['a']);
    link.isUp = false;
    latest.take([reading('a', 1000, 25.1)]);
    latest.publish();
    expect(link.sent).toEqual([]);
    link.isUp = true;
    latest.publish();
    expect(link.retained.get(topic('a'))).toContain('"v":25.1');
  });

  test('a publish that the broker never took is taken for done', async () => {
    const link = broker();
    const latest = make(link, documents(), ['a']);
    latest.take([reading('a', 1000, 25.1)]);
    const { publish } = link;
    link.publish = () => Promise.reject(new Error('lost on the way'));
    latest.publish();
    await Promise.resolve();
    await Promise.resolve();
    link.publish = publish;
    latest.publish();
    expect(link.retained.get(topic('a'))).toContain('"v":25.1');
  });

  test('a broker that lost its memory stays empty until the next reading', () => {
    const link = broker();
    const latest = make(link, documents(), ['a']);
    latest.take([reading('a', 1000, 25.1)]);
    latest.publish();
    link.retained.clear();
    latest.again();
    latest.publish();
    expect(link.retained.get(topic('a'))).toContain('"v":25.1');
  });

  test('after the clock was set back by hours an old number stands for all that time', () => {
    const link = broker();
    const latest = make(link, documents(), ['a']);
    const hourMs = 3_600_000;
    latest.take([reading('a', 5 * hourMs, 25.1)]);
    latest.moveTimes(-3 * hourMs);
    latest.take([reading('a', 2 * hourMs + 10_000, 25.9)]);
    latest.publish();
    expect(link.retained.get(topic('a'))).toContain('"v":25.9');
  });

  test('a probe that was taken out of the configuration lives on at the broker', async () => {
    const link = broker();
    const store = documents();
    const before = make(link, store, ['a', 'b']);
    before.take([reading('a', 1000, 25.1), reading('b', 1000, 25.4)]);
    before.publish();
    expect([...link.retained.keys()]).toEqual([topic('a'), topic('b')]);
    make(link, store, ['a']).publish();
    expect([...link.retained.keys()]).toEqual([topic('a')]);
    const times = link.sent.length;
    await Promise.resolve();
    // Emptied once: another hub may own that topic by now.
    make(link, store, ['a']).publish();
    expect(link.sent).toHaveLength(times);
  });
});
