import fc from 'fast-check';
import { vi } from 'vitest';
import type { MessageLink } from '#adapters/ports/edge.ts';
import type { HubAdapters } from '#adapters/ports/hub-adapters.ts';
import type { ObservationSink } from '#adapters/ports/observation.ts';
import type { NowAnswer } from '#hub/api/now.ts';
import type { RoomView } from '#hub/api/room.ts';
import { hubAdaptersOn } from '#hub/compose.ts';
import type { Hub } from '#hub/room/hub.ts';
import { createManualClock } from '../../../adapters/clock/manual-clock.ts';
import { configOf, getJson, roomText, scratchRoom, startHubHere } from '../../../servers/hub-process.ts';
import { waitUntil } from '../../../servers/server-process.ts';
import { ask } from '../../http/ask.ts';

/** Invented rooms of any kind, in the real hub, with all that it says of them to a page and to a phone at one moment. */

const minuteMs = 60_000;
const hourMs = 60 * minuteMs;
export const dayMs = 24 * hourMs;
/** A forenoon in the room. */
export const startMs = Date.parse('2026-03-02T10:00:00Z');

const usual = { alkalinity: 8.2, calcium: 425, magnesium: 1350, nitrate: 6, phosphate: 0.06 };
type Tested = keyof typeof usual;
const bands = {
  temperature: { low: 25, high: 26.5 },
  salinity: { low: 34, high: 36, most_per_day: 0.5 },
  alkalinity: { low: 7.5, high: 9, most_per_day: 0.5 },
  calcium: { low: 400, high: 450 },
  magnesium: { low: 1250, high: 1450 },
  nitrate: { low: 2, high: 12 },
  phosphate: { low: 0.02, high: 0.12 },
};

const near = (most: number) => fc.integer({ min: -100, max: 100 }).map((part) => (most * part) / 100);

/** Tests of one analyte: so many days ago, by what share they differ from usual, and what a day changes. */
const tests = fc.record({
  analyte: fc.constantFrom<Tested>('alkalinity', 'alkalinity', 'calcium', 'magnesium', 'nitrate', 'phosphate'),
  daysAgo: fc.uniqueArray(fc.integer({ min: 0, max: 12 }), { maxLength: 6 }),
  level: near(0.18),
  perDay: near(0.03),
  scatter: fc.array(near(0.012), { minLength: 13, maxLength: 13 }),
});

const system = fc.record({
  tests: fc.uniqueArray(tests, { maxLength: 4, selector: ({ analyte }) => analyte }),
  banded: fc.subarray(Object.keys(bands) as (keyof typeof bands)[], { minLength: 1 }),
  every: fc.option(fc.integer({ min: 1, max: 7 }), { nil: undefined }),
  planMl: fc.option(fc.integer({ min: 5, max: 120 }), { nil: undefined }),
  filledMl: fc.option(fc.constantFrom(300, 2000, 9000), { nil: undefined }),
  doseMlToday: fc.option(fc.integer({ min: 1, max: 60 }), { nil: undefined }),
  heat: fc.constantFrom('none', 'steady', 'steady', 'hot', 'cold', 'falls silent', 'just jumped', 'never heard'),
  cell: fc.constantFrom('none', 'none', 'steady', 'low', 'falls silent'),
});

export const anyRoom = fc.record({
  systems: fc.array(system, { minLength: 1, maxLength: 3 }),
  units: fc.constantFrom({}, { alkalinity: 'meq/L' }, { salinity: 'sg', temperature: '°F' }),
  deed: fc.constantFrom('none', 'none', 'acknowledge', 'silence', 'maintenance', 'decline'),
});
export type AnyRoom = typeof anyRoom extends fc.Arbitrary<infer Room> ? Room : never;

type System = AnyRoom['systems'][number];

const stocks = [
  { id: 'soda', name: 'Soda', substance: 'sodium_carbonate', grams_per_litre: 50, container_ml: 5000 },
  { id: 'lime', name: 'Calcium mix', substance: 'calcium_chloride_dihydrate', grams_per_litre: 100 },
];

function configText(dir: string, { systems, units }: AnyRoom): string {
  return roomText(dir, {
    site: { name: 'Any room (invented)', timezone: 'UTC' },
    mqtt: { url: 'mqtt://127.0.0.1:9', prefix: 'brinekeep' },
    display_units: units,
    systems: systems.map(({ banded, every, planMl }, index) => ({
      ...{ id: `s${index}`, name: `Tank ${index}`, volume_l: 400, stocks },
      bands: Object.fromEntries(banded.map((metric) => [metric, bands[metric]])),
      ...(planMl === undefined ? {} : { standing_plan: [{ stock: 'soda', ml_per_day: planMl, times_per_day: 12 }] }),
      ...(every === undefined ? {} : { test_every_days: { alkalinity: every } }),
    })),
    probes: systems.flatMap(({ heat, cell }, index) => [
      ...(heat === 'none' ? [] : [probe(index, 'temperature')]),
      ...(cell === 'none' ? [] : [probe(index, 'conductivity')]),
    ]),
  });
}

const probe = (index: number, metric: string) => ({
  ...{ id: `${metric}-${index}`, system: `s${index}`, metric, mqtt: { topic: `s${index}/${metric}` } },
});

/** What a probe measures so many minutes before the end; undefined while it says nothing. */
function temperatureAt({ heat }: System, minutesLeft: number): number | undefined {
  const wave = 0.05 * Math.sin(minutesLeft / 7);
  switch (heat) {
    case 'hot':
      return minutesLeft > 75 ? 25.8 + wave : 27.6 + wave;
    case 'cold':
      return 25.8 - Math.max(0, 100 - minutesLeft) * 0.02 + wave;
    case 'falls silent':
      return minutesLeft > 70 ? 25.8 + wave : undefined;
    case 'just jumped':
      return minutesLeft > 0 ? 25.8 + wave : 29;
    case 'none':
    case 'never heard':
      return undefined;
    default:
      return 25.8 + wave;
  }
}

/** mS/cm; 35 at 25.8 °C is about 53.9. */
function conductivityAt({ cell }: System, minutesLeft: number): number | undefined {
  if (cell === 'none' || (cell === 'falls silent' && minutesLeft < 70)) return undefined;
  return (cell === 'low' ? 50 : 53.9) + 0.03 * Math.cos(minutesLeft / 5);
}

export type Told = { room: RoomView; list: NowAnswer; today: string; allWell: string };

const turn = () => new Promise((resolve) => setImmediate(resolve));
/** Between two readings of a probe. */
const stepMinutes = 3;
/** The hub looks at the time so often. */
const tickMs = 5_000;

/**
 * Lives through two hours of a room, does what the keeper does in it, and asks everything at one moment. Repeating timers are led by
 * this test: `vi.useFakeTimers({ toFake: ['setInterval', 'clearInterval'] })`.
 */
export async function toldOf(given: AnyRoom): Promise<Told> {
  const scratch = scratchRoom();
  const clock = createManualClock(startMs - 13 * dayMs);
  const answers: string[] = [];
  let sink: ObservationSink | undefined;
  let hear: ((topic: string, text: string) => void) | undefined;
  const createLink: HubAdapters['createLink'] = (_choice, _subscriptions, into, listener, onMessage): MessageLink => {
    sink = into;
    hear = (topic, text) => onMessage({ topic, payload: Buffer.from(text), isRetained: false });
    return {
      start: async () => listener({ name: 'mqtt', isUp: true, detail: 'an invented broker', atMs: clock.nowMs() }),
      stop: async () => {},
      state: () => ({ name: 'mqtt', isUp: true, counts: {} }),
      reconnect: () => {},
      publish: async (topic, payload) => {
        if (topic === 'brinekeep/phone') answers.push(payload.toString());
      },
    };
  };
  const hub = await startHubHere(configOf(configText(scratch.dir, given)), { ...hubAdaptersOn(clock), createLink });
  try {
    enterPast(hub, given, clock);
    for (let minutesLeft = 120; minutesLeft >= 0; minutesLeft -= stepMinutes) {
      const observations = given.systems.flatMap((each, index) =>
        (
          [
            ['temperature', temperatureAt(each, minutesLeft)],
            ['conductivity', conductivityAt(each, minutesLeft)],
          ] as const
        ).flatMap(([metric, value]) =>
          value === undefined
            ? []
            : [{ source: `mqtt:s${index}/${metric}`, channel: '', value, receivedMs: clock.nowMs() }],
        ),
      );
      if (observations.length > 0) await sink?.accept(observations);
      vi.advanceTimersByTime(tickMs);
      await turn();
      if (minutesLeft > 0) clock.advance(stepMinutes * minuteMs);
    }
    hub.store.flush();
    vi.advanceTimersByTime(minuteMs);
    await turn();
    await doDeed(hub, given);
    const phone = async (question: string): Promise<string> => {
      answers.length = 0;
      hear?.('brinekeep/command', question);
      await waitUntil(`an answer to ${question}`, () => answers.length > 0);
      return answers[0] ?? '';
    };
    return {
      room: await getJson<RoomView>(`${hub.url}/api/room`),
      list: await getJson<NowAnswer>(`${hub.url}/api/now`),
      today: await phone('today?'),
      allWell: await phone('all well?'),
    };
  } finally {
    await hub.stop();
    scratch.remove();
  }
}

/** The fortnight before: each day its tests, at the day's own time; a filling at its beginning, a dose this morning. */
function enterPast(hub: Hub, { systems }: AnyRoom, clock: ReturnType<typeof createManualClock>): void {
  for (const [index, each] of systems.entries())
    if (each.filledMl !== undefined)
      hub.entries.refill({ system: `s${index}`, stock: 'soda', ml: each.filledMl }, clock.nowMs());
  for (let daysAgo = 12; daysAgo >= 0; daysAgo -= 1) {
    clock.advance(startMs - daysAgo * dayMs - 2 * hourMs - clock.nowMs());
    for (const [index, each] of systems.entries()) {
      const system = `s${index}`;
      for (const { analyte, daysAgo: on, level, perDay, scatter } of each.tests) {
        if (!on.includes(daysAgo)) continue;
        const value = usual[analyte] * Math.max(0.05, 1 + level - perDay * daysAgo + (scatter[daysAgo] ?? 0));
        hub.entries.test({ system, analyte, value: Number(value.toPrecision(3)), confirmed: true }, clock.nowMs());
      }
      if (daysAgo === 0 && each.doseMlToday !== undefined)
        hub.entries.dose({ system, stock: 'soda', ml: each.doseMlToday }, clock.nowMs());
    }
  }
}

/** The one thing that the keeper does before he asks. */
async function doDeed(hub: Hub, { deed }: AnyRoom): Promise<void> {
  const post = (path: string, body: unknown) => ask(hub.url, path, { body });
  const { systems } = await getJson<RoomView>(`${hub.url}/api/room`);
  const [alarm] = systems.flatMap(({ alarms }) => alarms).filter(({ isStanding }) => isStanding);
  const [advised] = systems.flatMap(({ id, advice }) =>
    advice.filter(({ advice: { kind } }) => kind !== 'nothing').map(({ analyte }) => ({ system: id, analyte })),
  );
  if (deed === 'acknowledge' && alarm !== undefined) await post('/api/alarms/acknowledge', { alarm: alarm.id });
  if (deed === 'silence' && alarm !== undefined)
    await post('/api/alarms/shelve', { alarm: alarm.id, minutes: 60, why: 'the part comes tomorrow' });
  if (deed === 'maintenance') await post('/api/maintenance', { system: 's0', minutes: 30 });
  if (deed === 'decline' && advised !== undefined)
    await post('/api/advice/decline', { ...advised, reason: 'other', note: 'as every spring' });
}
