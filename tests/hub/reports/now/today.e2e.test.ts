import mqtt, { type MqttClient } from 'mqtt';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import type { NowList } from '#rules/now/now-list.ts';
import { isMissing } from '../../../machine/parts.mjs';
import { getJson, postJson } from '../../../servers/hub-process.ts';
import { type Mosquitto, mosquittoPub, startMosquitto } from '../../../servers/mosquitto.ts';
import { patience, waitUntil } from '../../../servers/server-process.ts';
import { type ArrivalRoom, dayMs, hourMs, minuteMs, startArrivalRoom } from '../../judgement/arrivals/arrival-room.ts';

vi.setConfig({ testTimeout: 60_000 * patience(), hookTimeout: 60_000 * patience() });

const prefix = 'brinekeep';
/** Seven in the morning in the room. */
const startMs = Date.parse('2026-03-02T07:00:00Z');

describe.skipIf(isMissing('mosquitto') || isMissing('mosquitto_pub'))('what to do today, on a phone', () => {
  let broker: Mosquitto;
  let phone: MqttClient;
  /** Each message whole: the list has several lines. */
  const heard: string[] = [];
  let room: ArrivalRoom;

  const list = () => getJson<NowList>(`${room.hub.url}/api/now`);
  const post = (path: string, body: unknown = {}) => postJson(`${room.hub.url}/api/${path}`, body);
  const told = (words: string) =>
    waitUntil(`the phone reads "${words}"`, () => heard.some((text) => text.includes(words)), {
      explain: () => heard.join('\n'),
    });
  const ask = (text: string) => mosquittoPub(broker.port, `${prefix}/command`, text);
  const said = (words: string) => heard.filter((text) => text.startsWith(words));

  beforeAll(async () => {
    broker = await startMosquitto();
    room = await startArrivalRoom(startMs, {
      mqtt: { url: `mqtt://127.0.0.1:${broker.port}`, prefix },
      notices: { today_at: '08:00' },
      systems: [{ id: 'display', name: 'Display', volume_l: 420, bands: { temperature: { low: 24, high: 27 } } }],
    });
    phone = await mqtt.connectAsync(`mqtt://127.0.0.1:${broker.port}`);
    phone.on('message', (_topic, payload) => heard.push(payload.toString()));
    await phone.subscribeAsync(`${prefix}/phone`, { qos: 1 });
  });

  afterAll(async () => {
    await room?.stop();
    await phone?.endAsync(true);
    await broker?.stop();
  });

  test('"today?" is not understood, or answered with something that is not true', async () => {
    await ask('today?');
    await told('Today: Nothing to do now.');
    expect(await list()).toMatchObject({ deeds: [], calm: 'Nothing to do now.' });
  });

  test('the list of the day does not come by itself, comes twice, or before its hour', async () => {
    const before = said('Today').length;
    room.clock.advance(59 * minuteMs);
    await ask('all well?');
    await told('no probe has been heard yet');
    expect(said('Today')).toHaveLength(before);
    room.clock.advance(2 * minuteMs);
    await waitUntil('the day is told', () => said('Today').length === before + 1);
    // A restart on the same day tells nothing again: the next that comes is the next day's.
    await room.restart();
    room.clock.advance(10 * minuteMs);
    room.clock.advance(dayMs);
    await waitUntil('the next day is told', () => said('Today').length === before + 2);
    expect(said('Today')).toHaveLength(before + 2);
  });

  test('corals in closed bags, and a dip that runs, are no answer to "today?"', async () => {
    const arrived = new Date(room.clock.nowMs()).toISOString();
    await post('arrivals', { system: 'display', name: 'Tuesday', arrived });
    // Asked again until the hub has taken up its subscription: a question to nobody is lost.
    await waitUntil('the bags are told', async () => {
      await ask('today?');
      return heard.some((text) => text.includes('1. Display: Float the closed bags of Tuesday'));
    });
    await post('arrivals/a1/runs', { protocol: 'repeat_dip' });
    for (const step of ['done', 'done', 'timer']) await post(`runs/a1-1/${step}`);
    await ask('today');
    await told('1. Display: Pieces are in the dip: stay with them (7 min left)');
    room.clock.advance(9 * minuteMs);
    await ask('TODAY ?');
    await told('1. Display: Take the pieces out of the dip and rinse them off (2 min over)');
    // The page has the same list from the same judgement.
    const [first] = (await list()).deeds;
    expect(first).toMatchObject({ urgency: 'now', what: 'Take the pieces out of the dip and rinse them off' });
    await post('runs/a1-1/done');
    expect((await list()).deeds[0]?.what).toBe('Shake the pieces and rinse them off');
  });

  test('the days after, inspections and daily tests are not in the list', async () => {
    for (const step of ['done', 'timer']) await post(`runs/a1-1/${step}`);
    room.clock.advance(11 * minuteMs);
    for (const body of [{}, { findings: 'nothing found' }, {}]) await post('runs/a1-1/done', body);
    room.clock.advance(7 * dayMs + hourMs);
    const { deeds } = await list();
    expect(deeds.map(({ what }) => what)).toEqual(
      expect.arrayContaining(['Inspect Tuesday for pests', 'Test alkalinity']),
    );
    expect(deeds.find(({ what }) => what === 'Test alkalinity')?.more).toContain('day 8 of 14 of Tuesday');
  });
});
