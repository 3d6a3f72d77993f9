import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import { describe, expect, onTestFinished, test, vi } from 'vitest';
import { createHistoryReader } from '#adapters/influx/history-reader.ts';
import { pointsFromReadings } from '#adapters/influx/points.ts';
import type { HistoryAsked, HistoryReader } from '#adapters/ports/history.ts';
import type { Quality } from '#rules/quality/reading.ts';
import { isMissing } from '../../machine/parts.mjs';
import { startInfluxd } from '../../servers/influxd.ts';
import { patience } from '../../servers/server-process.ts';
import { startVictoriaMetrics } from '../../servers/victoria-metrics.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

const minuteMs = 60_000;
const startMs = Math.floor(Date.now() / (10 * minuteMs)) * 10 * minuteMs - 60 * minuteMs;
const hub = "farm/hub 'se\\ven'";

const target = (url: string) => ({ url, api: 'v1' as const, org: '', bucket: '', database: 'hub', timeoutMs: 2000 });
const asked = (more: Partial<HistoryAsked> = {}): HistoryAsked => ({
  ...{ hub, system: 'display', metric: 'temperature', stepMs: 10 * minuteMs },
  ...{ fromMs: startMs, toMs: startMs + 30 * minuteMs },
  ...more,
});
const never = new AbortController().signal;

function qualityAt(second: number): Quality {
  // A spike of one second in the second interval, a suspect reading and a failed one in the third.
  if (second === 900) return { flag: 'pass', value: 31.5 };
  if (second === 1300) return { flag: 'suspect', value: 24, why: 'spike' };
  if (second === 1301) return { flag: 'fail', raw: -127, why: 'gross range' };
  return { flag: 'pass', value: second % 2 === 0 ? 25 : 26 };
}

/** Half an hour of one reading a second, and the same of another hub, warmer. */
function lines(): string {
  const series = { system: 'display', metric: 'temperature', probe: 't' } as const;
  const seconds = Array.from({ length: 1800 }, (_, second) => second);
  const own = seconds.map((second) => ({ series, timeMs: startMs + second * 1000, quality: qualityAt(second) }));
  const other = seconds.map((second) => ({
    ...{ series, timeMs: startMs + second * 1000 },
    quality: { flag: 'pass', value: 40 } as const,
  }));
  return `${pointsFromReadings(own, hub)}\n${pointsFromReadings(other, 'farm/hub-08')}`;
}

/** The least, the mean and the greatest are those of the numbers above, not of what a server said. */
async function expectHalfHour(reader: HistoryReader): Promise<void> {
  const answer = await reader.read(asked(), never);
  const means = [25.5, (599 * 25.5 + (25.5 - 25) + 31.5) / 600, (299 * 25 + 299 * 26 + 24) / 599];
  const interval = (index: number, min: number, max: number, count: number, isDoubtful: boolean) => ({
    ...{ timeMs: startMs + index * 10 * minuteMs, min, max, count, isDoubtful },
    mean: expect.closeTo(means[index] ?? 0, 6) as number,
  });
  expect(answer).toEqual({
    ok: true,
    curves: [
      {
        probe: 't',
        points: [interval(0, 25, 26, 600, false), interval(1, 25, 31.5, 600, false), interval(2, 24, 26, 599, true)],
      },
    ],
  });
  expect(await reader.read(asked({ hub: 'farm/hub-09' }), never)).toEqual({ ok: true, curves: [] });
}

describe('reading back what hubs have mirrored', () => {
  test.skipIf(isMissing('influxd'))(
    'InfluxDB: a spike of a second is hidden, or the water of another hub is shown',
    async () => {
      const server = await startInfluxd();
      onTestFinished(() => server.stop());
      const written = await fetch(`${server.url}/write?db=hub&precision=ms`, { method: 'POST', body: lines() });
      expect(written.status).toBe(204);
      const reader = createHistoryReader(target(server.url));
      await expectHalfHour(reader);
      const unknown = createHistoryReader({ ...target(server.url), database: 'nobody' });
      expect(await unknown.read(asked(), never)).toMatchObject({ ok: false, kind: 'refused' });
      await server.pause();
      expect(await reader.read(asked(), never)).toMatchObject({ ok: false, kind: 'away', detail: 'ECONNREFUSED' });
    },
  );

  test.skipIf(isMissing('victoria-metrics'))(
    'VictoriaMetrics: the answer to no question of ours is taken for an empty record',
    async () => {
      const server = await startVictoriaMetrics();
      onTestFinished(() => server.stop());
      await fetch(`${server.url}/write?db=hub&precision=ms`, { method: 'POST', body: lines() });
      await server.samples('temperature_value');
      await expectHalfHour(createHistoryReader(target(server.url)));
    },
  );

  test('a server that hangs, lies or floods holds the page for ever', async () => {
    let mode = '';
    const server = createServer((_request, response) => {
      if (mode === 'hangs') return;
      if (mode === 'lies') response.end('<html>sign in</html>');
      else if (mode === 'redirects') response.writeHead(302, { location: 'http://127.0.0.1:1/' }).end();
      else if (mode === 'odd')
        response.end('{"results":[{"series":[{"name":"x","columns":["time"],"values":[[1]]}]}]}');
      else if (mode === 'forbids') response.writeHead(401).end('{"error":"unauthorized"}');
      else {
        const flood = setInterval(() => response.write(Buffer.alloc(1_000_000, 32)), 1);
        response.on('close', () => clearInterval(flood));
      }
    });
    await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
    onTestFinished(() => {
      server.closeAllConnections();
      server.close();
    });
    const url = `http://127.0.0.1:${(server.address() as AddressInfo).port}`;
    const kinds: Record<string, string> = {};
    for (mode of ['hangs', 'lies', 'redirects', 'odd', 'forbids', 'floods']) {
      const reader = createHistoryReader({ ...target(url), timeoutMs: mode === 'hangs' ? 200 : 60_000 });
      const answer = await reader.read(asked(), never);
      kinds[mode] = answer.ok ? 'read' : answer.kind;
    }
    expect(kinds).toEqual({
      ...{ hangs: 'away', lies: 'unread', redirects: 'away', odd: 'unread', forbids: 'refused', floods: 'unread' },
    });
  });
});
