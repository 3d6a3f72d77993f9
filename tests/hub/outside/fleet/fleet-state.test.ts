import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Clock } from '#adapters/ports/edge.ts';
import { hubAdaptersOn } from '#hub/compose.ts';
import { fleetTiles, hubDetail } from '#hub/http/views/fleet-view.ts';
import { alarmState } from '#hub/judgement/notices/notice-items.ts';
import { createFleetState } from '#hub/outside/fleet/fleet-state.ts';
import { fleetFilters } from '#hub/outside/fleet/fleet-topics.ts';
import { senmlPack } from '#hub/outside/outward/senml-pack.ts';
import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import { type Metric, metrics } from '#rules/quantity/metric.ts';

const noon = Date.UTC(2026, 10, 25, 12);
const minuteMs = 60_000;

/** A clock that is set by hand, and hubs below farm/ that speak by it. */
function fleet(mostHubs = 50) {
  let nowMs = noon;
  const clock: Clock = { nowMs: () => nowMs, monotonicMs: () => nowMs - noon + 5_000_000 };
  const { readSenml } = hubAdaptersOn(clock);
  const state = createFleetState({ prefixes: ['farm/+', 'office'], mostHubs, clock, readSenml });
  const say = (topic: string, document: unknown, isRetained = false) => {
    const payload = typeof document === 'string' ? document : JSON.stringify(document);
    state.take({ topic, payload: Buffer.from(payload), isRetained });
  };
  const parts = { clock, silentAfterMs: 3 * minuteMs, units: {}, self: 'office' };
  return {
    ...{ state, say },
    pass: (ms: number) => (nowMs += ms),
    beat: (hub: string, timeMs = nowMs, isRetained = false) =>
      say(`${hub}/heartbeat`, { time: new Date(timeMs).toISOString(), since: '2026-11-01T00:00:00.000Z' }, isRetained),
    online: (hub: string) => say(`${hub}/status`, { state: 'online', since: new Date(nowMs).toISOString() }),
    value: (hub: string, metric: Metric, value: number, isSilent = false) => {
      const series = { system: 'display', metric, probe: 'p' };
      const pack = senmlPack({ series, timeMs: nowMs, quality: { flag: 'pass', value } }, isSilent);
      say(`${hub}/readings/display/${metric}/p`, pack);
    },
    alarm: (hub: string, more: Partial<AlarmEvent> = {}) => {
      const event: AlarmEvent = {
        ...{ timeMs: nowMs, alarm: 'display/temperature/out_of_band', occurrence: 1, state: 'raised' },
        ...{ system: 'display', metric: 'temperature', rule: 'out_of_band', priority: 'medium' },
        ...{ message: 'Temperature is above its band', ...more },
      };
      say(`${hub}/alarms/${event.alarm}`, alarmState(event, 'Display tank'));
    },
    about: (hub: string, site: string) =>
      say(`${hub}/about`, {
        ...{ site, timezone: 'Europe/Lisbon', hub },
        systems: [{ id: 'display', name: 'Display tank', bands: { temperature: { low: 25, high: 26 } } }],
      }),
    tiles: () => fleetTiles(state.hubs(), parts),
    detail: (hub: string) => {
      const record = state.hub(hub);
      return record === undefined ? undefined : hubDetail(record, parts);
    },
  };
}

describe('how the other hubs of a fleet do', () => {
  test('a hub that lost its power stands below one with a low alarm, or its neighbours go unsaid', () => {
    const { about, beat, online, value, alarm, say, pass, tiles } = fleet();
    for (const name of ['calm', 'hot', 'low', 'high', 'cut', 'mute', 'quiet-probe']) {
      about(`farm/${name}`, name);
      online(`farm/${name}`);
      beat(`farm/${name}`);
      value(`farm/${name}`, 'temperature', name === 'hot' ? 26.4 : 25.5);
    }
    alarm('farm/low', { priority: 'low' });
    alarm('farm/high', { priority: 'high' });
    // As the broker tells a last will.
    say('farm/cut/status', { state: 'offline', since: null });
    for (let minute = 0; minute < 12; minute += 1) {
      pass(minuteMs);
      for (const name of ['calm', 'hot', 'low', 'high', 'quiet-probe']) {
        beat(`farm/${name}`);
        // That hub knows how often its probe speaks; here nobody does.
        if (name !== 'quiet-probe') value(`farm/${name}`, 'temperature', name === 'hot' ? 26.4 : 25.5);
        else if (minute === 6) value('farm/quiet-probe', 'temperature', 25.5, true);
      }
    }
    expect(tiles().map(({ name, state, lastHeardMs }) => [name, state, lastHeardMs])).toEqual([
      ['cut', 'offline', noon],
      ['mute', 'silent', noon],
      ['high', 'alarm', null],
      ['low', 'alarm', null],
      ['hot', 'outside', null],
      ['quiet-probe', 'stale', null],
      ['calm', 'calm', null],
    ]);
  });

  test('an old heartbeat that the broker kept passes for a sign of life', () => {
    const { online, beat, pass, tiles } = fleet();
    online('farm/a');
    beat('farm/a', noon - 12 * minuteMs, true);
    online('farm/b');
    // The clock over there is a day behind; it was heard just now all the same.
    beat('farm/b', noon - 1440 * minuteMs);
    expect(tiles().map(({ name, state, lastHeardMs }) => [name, state, lastHeardMs])).toEqual([
      ['a', 'silent', noon - 12 * minuteMs],
      ['b', 'calm', null],
    ]);
    pass(4 * minuteMs);
    expect(tiles().map(({ state }) => state)).toEqual(['silent', 'silent']);
  });

  test('an alarm that ended stands for ever, or one that is hidden counts', () => {
    const { online, beat, alarm, tiles, detail } = fleet();
    online('farm/a');
    beat('farm/a');
    alarm('farm/a');
    expect(tiles()[0]).toMatchObject({ state: 'alarm', alarms: { medium: 1 }, acknowledged: 0 });
    alarm('farm/a', { state: 'acknowledged', by: 'Ana' });
    expect(tiles()[0]).toMatchObject({ state: 'alarm', acknowledged: 1 });
    alarm('farm/a', { state: 'cleared' });
    // Somebody acknowledges what has ended already.
    alarm('farm/a', { state: 'acknowledged', by: 'Ana' });
    expect(tiles()[0]).toMatchObject({ state: 'calm', alarms: { medium: 0 } });
    alarm('farm/a', { state: 'raised', occurrence: 2 });
    alarm('farm/a', { state: 'shelved', occurrence: 2 });
    expect(tiles()[0]?.state).toBe('calm');
    alarm('farm/a', { alarm: 'edge/serial:sump', system: '', metric: '', rule: 'edge_fault' });
    expect(detail('farm/a')?.ownAlarms).toMatchObject([{ alarm: 'edge/serial:sump' }]);
  });

  test('a value arrives in another unit than it was sent, or a failed one as a number', () => {
    const { state, say, value, detail } = fleet();
    const sent: Record<string, number> = {};
    for (const [index, metric] of metrics.entries()) {
      sent[metric] = 7 + index / 8;
      value('farm/a', metric, 7 + index / 8);
    }
    const series = { system: 'display', metric: 'ph' as const, probe: 'q' };
    const failed = senmlPack({ series, timeMs: noon, quality: { flag: 'fail', raw: 14.2, why: 'gross range' } });
    say('farm/a/readings/display/ph/q', failed);
    const shown = detail('farm/a')?.details[0]?.metrics ?? [];
    expect(
      Object.fromEntries(shown.filter(({ probe }) => probe === 'p').map((each) => [each.metric, each.value])),
    ).toEqual(
      Object.fromEntries(Object.entries(sent).map(([metric, each]) => [metric, expect.closeTo(each, 8) as number])),
    );
    expect(shown.find(({ probe }) => probe === 'q')).toMatchObject({ value: null, flag: 'fail', state: 'doubtful' });
    expect(state.counts()).toMatchObject({ unreadable: 0, series: metrics.length + 1 });
    // The topic was emptied: that probe is gone.
    say('farm/a/readings/display/ph/q', '');
    expect(state.counts().series).toBe(metrics.length);
  });
});

describe('a stranger who publishes below the prefixes of the fleet', () => {
  test('what is no word of a hub is shown', () => {
    const { state, say } = fleet();
    const pack = JSON.parse(
      senmlPack({
        series: { system: 's', metric: 'ph', probe: 'p' },
        timeMs: noon,
        quality: { flag: 'pass', value: 8 },
      }),
    ) as [object, object];
    const wrong: [string, unknown][] = [
      ['farm/a/status', 'online'],
      ['farm/a/status', { state: 'perhaps', since: null }],
      ['farm/a/heartbeat', { time: 'yesterday' }],
      ['farm/a/about', { site: 'x'.repeat(61), timezone: 'UTC', hub: 'a', systems: [] }],
      ['farm/a/alarms/x', { alarm: 'y' }],
      ['farm/a/readings/s/ph/p', pack.slice(0, 1)],
      ['farm/a/readings/s/temperature/p', pack],
      ['farm/a/readings/s/ph/p', JSON.stringify(pack).replace('"v":8', '"v":1e999')],
      ['farm/a/readings/s/ph/p', [{ ...pack[0], u: 'kg' }, pack[1]]],
      ['farm/a/readings/s/ph/p/more', pack],
      ['farm/a/readings/s/nonsense/p', pack],
      ['farm/a/readings/__proto__/ph/p', pack],
    ];
    for (const [topic, document] of wrong) say(topic, document);
    expect(state.hubs()).toEqual([]);
    expect(state.counts()).toMatchObject({ messages: wrong.length, unreadable: wrong.length });
    say('farm/a/command', 'ack all');
    say('elsewhere/status', { state: 'online', since: null });
    expect(state.counts().messages).toBe(wrong.length);
  });

  test('hubs, series and alarms without end fill the memory', () => {
    const { state, online, value, say, alarm } = fleet(3);
    for (let hub = 0; hub < 5; hub += 1) online(`farm/h${hub}`);
    expect(state.counts()).toMatchObject({ hubs: 3, too_many_hubs: 2 });
    value('farm/h0', 'ph', 8);
    const pack = (probe: string) =>
      senmlPack({
        series: { system: 'display', metric: 'ph', probe },
        timeMs: noon,
        quality: { flag: 'pass', value: 8 },
      });
    for (let probe = 0; probe < 3100; probe += 1) say(`farm/h0/readings/display/ph/x${probe}`, pack(`x${probe}`));
    expect(state.counts()).toMatchObject({ series: 3000, too_many_series: 101 });
    alarm('farm/h0', { alarm: 'over', state: 'cleared' });
    for (let each = 0; each < 2010; each += 1) alarm('farm/h0', { alarm: `a${each}` });
    expect(state.counts()).toMatchObject({ alarms: 2000, too_many_alarms: 10 });
  });

  test('some message at all stops the fleet', () => {
    const { state, tiles } = fleet();
    const level = fc.oneof(
      fc.constantFrom('farm', 'a', 'status', 'about', 'readings', 'alarms', 'ph', ''),
      fc.string(),
    );
    fc.assert(
      fc.property(
        fc.array(level, { maxLength: 7 }),
        fc.oneof(fc.json(), fc.string()),
        fc.boolean(),
        (levels, text, isRetained) => {
          state.take({ topic: ['farm', ...levels].join('/'), payload: Buffer.from(text), isRetained });
          tiles();
        },
      ),
      { numRuns: 1000 },
    );
  });
});

test('the hub listens to the commands that are meant for others', () => {
  const filters = fleetFilters(['farm/+']);
  expect(filters).toEqual(
    ['status', 'heartbeat', 'week', 'about', 'alarms/#', 'readings/#'].map((kind) => `farm/+/${kind}`),
  );
});
