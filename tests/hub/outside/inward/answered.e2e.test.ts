import { connectAsync, type MqttClient } from 'mqtt';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import type { Hub } from '#hub/room/hub.ts';
import { configOf, getJson, roomText, scratchRoom, startHubHere } from '../../../servers/hub-process.ts';
import { patience, waitUntil } from '../../../servers/server-process.ts';

vi.setConfig({ testTimeout: 60_000 * patience(), hookTimeout: 60_000 * patience() });

const alarm = 'display/temperature/out_of_band/high';

describe('what a phone hears of what it sent', () => {
  const scratch = scratchRoom();
  let hub: Hub;
  let phone: MqttClient;
  const lines: string[] = [];

  const send = (topic: string, payload: string | object) =>
    phone.publishAsync(`brinekeep/${topic}`, typeof payload === 'string' ? payload : JSON.stringify(payload), {
      qos: 1,
    });
  /** The newest line once there is one more than before. */
  async function answerTo(topic: string, payload: string | object): Promise<string> {
    const before = lines.length;
    await send(topic, payload);
    await waitUntil(`an answer to ${topic}`, () => lines.length > before, { explain: () => lines.join('\n') });
    return lines.at(-1) ?? '';
  }
  const stored = (kind: string) => getJson<{ body: object }[]>(`${hub.url}/api/entries?kind=${kind}`);

  beforeAll(async () => {
    hub = await startHubHere(
      configOf(
        roomText(scratch.dir, {
          systems: [
            {
              ...{ id: 'display', name: 'Display', volume_l: 420 },
              bands: { temperature: { low: 25, high: 26.5 }, alkalinity: { low: 7.5, high: 9 } },
              stocks: [
                {
                  ...{ id: 'alk', name: 'Soda', substance: 'sodium_carbonate' },
                  ...{ grams_per_litre: 106, container_ml: 5000 },
                },
              ],
            },
          ],
          probes: [
            {
              id: 'display-t',
              name: 'Sump probe',
              system: 'display',
              metric: 'temperature',
              mqtt: { topic: 'sump/t' },
            },
          ],
          rules: [{ rule: 'out_of_band', metric: 'temperature', on_delay_minutes: 0.01 }],
        }),
      ),
    );
    phone = await connectAsync(`mqtt://127.0.0.1:${hub.brokerPort}`);
    phone.on('message', (_topic, payload) => lines.push(payload.toString()));
    await phone.subscribeAsync('brinekeep/phone', { qos: 1 });
  });

  afterAll(async () => {
    await phone?.endAsync(true);
    await hub?.stop();
    scratch.remove();
  });

  test('a test vanishes without a word, or is answered by another number than the kit showed', async () => {
    const given = { system: 'display', analyte: 'alkalinity', value: 8.12, time: new Date().toISOString() };
    expect(await answerTo('enter/test', given)).toMatch(/^Saved: alkalinity 8\.12 dKH, Display, \d\d:\d\d$/);
    // As the kit shows it, with the day when it was not today.
    const before = { ...given, value: 2.9, unit: 'meq/L', time: '2026-01-02T18:40:00Z', confirmed: true };
    expect(await answerTo('enter/test', before)).toBe('Saved: alkalinity 2.9 meq/L, Display, 2 Jan 18:40');
    expect(await stored('test')).toHaveLength(2);
  });

  test('a dose is answered only to whoever gives a name', async () => {
    const dose = { system: 'display', stock: 'alk', ml: 25 };
    expect(await answerTo('enter/dose', { ...dose, by: 'Ana' })).toMatch(/^Saved: 25 mL of Soda, Display, \d\d:\d\d$/);
    expect(await answerTo('enter/dose', { ...dose, ml: 26 })).toMatch(/^Saved: 26 mL of Soda, Display, \d\d:\d\d$/);
    const grams = { system: 'display', substance: 'sodium_bicarbonate', grams: 3 };
    expect(await answerTo('enter/dose', grams)).toMatch(/^Saved: 3 g of .*bicarbonate.*, Display, \d\d:\d\d$/);
  });

  test('a pump that logs each of its doses rings the phone all day', async () => {
    const before = await stored('dose');
    await send('enter/dose', { system: 'display', stock: 'alk', ml: 1.5, answer: false });
    await waitUntil('the dose is stored', async () => (await stored('dose')).length === before.length + 1);
    // The next answer is to the next entry, and the pump's own would have come before it.
    const told = lines.length;
    expect(await answerTo('enter/refill', { system: 'display', stock: 'alk' })).toMatch(/refilled, 5000 mL, Display/);
    expect(lines.slice(told)).toHaveLength(1);
    expect((await stored('dose'))[0]?.body).not.toHaveProperty('answer');
  });

  test('water changes and refills cannot be entered at the tank by phone', async () => {
    const changed = { system: 'display', volume_l: 40, salinity: 35 };
    expect(await answerTo('enter/water-change', changed)).toMatch(/^Saved: water change of 40 L, Display, \d\d:\d\d$/);
    expect(await stored('water_change')).toHaveLength(1);
    const filled = { system: 'display', stock: 'alk', ml: 4500 };
    expect(await answerTo('enter/refill', filled)).toMatch(/^Saved: Soda refilled, 4500 mL, Display, \d\d:\d\d$/);
    expect(await answerTo('enter/refill', { system: 'sump', stock: 'alk' })).toBe(
      'Not taken (refill): No system "sump". You have: display',
    );
    expect(await stored('refill')).toHaveLength(2);
  });

  test('nobody knows whether the alarms of a tank are off', async () => {
    expect(await answerTo('command', 'maintenance display 30')).toMatch(
      /^Saved: maintenance of Display until .*\d\d:\d\d, alarms off$/,
    );
    expect(await getJson<unknown[]>(`${hub.url}/api/maintenance`)).toHaveLength(1);
    expect(await answerTo('command', 'end maintenance display')).toBe('Saved: maintenance of Display ended, alarms on');
    const probe = { do: 'maintenance', system: 'display', probe: 'display-t', minutes: 20 };
    expect(await answerTo('command', probe)).toMatch(
      /^Saved: maintenance of Sump probe, Display until .*, alarms off$/,
    );
    expect(await answerTo('command', { do: 'end_maintenance', system: 'display', probe: 'display-t' })).toMatch(
      /ended/,
    );
    expect(await answerTo('command', 'maintenance sump 30')).toBe(
      'Not taken (command): No system "sump". You have: display',
    );
    expect(await answerTo('command', { ...probe, probe: 'sump-t' })).toBe(
      'Not taken (command): No probe "sump-t" in display',
    );
    expect(await answerTo('command', 'acknowledge display/ph/flat_line')).toBe(
      'Not taken (command): No active alarm "display/ph/flat_line"',
    );
  });

  test('whoever silences or acknowledges an alarm does not learn whether that was taken', async () => {
    type Standing = { id: string; state: string };
    const stateNow = async () =>
      (await getJson<Standing[]>(`${hub.url}/api/alarms`)).find(({ id }) => id === alarm)?.state;
    await waitUntil('the alarm', async () => {
      await phone.publishAsync('sump/t', `27.${400 + Math.floor(Math.random() * 100)}`);
      return (await stateNow()) === 'unacknowledged';
    });
    await waitUntil('its notice', () => lines.some((line) => line.startsWith('ACT NOW')), {
      explain: () => lines.join('\n'),
    });
    expect(await answerTo('command', `acknowledge ${alarm}`)).toMatch(/^Acknowledged: Display: Temperature is 27\./);
    expect(await stateNow()).toBe('acknowledged');
    expect(await answerTo('command', `silence ${alarm} 30 a spare heater is on its way`)).toMatch(
      /^Silenced until .*\d\d:\d\d: Display: Temperature is 27\./,
    );
    expect(await stateNow()).toBe('shelved');
    expect(await answerTo('command', `unsilence ${alarm}`)).toMatch(
      /^No longer silenced: Display: Temperature is 27\./,
    );
  });

  test('a probe is calibrated on the page and the phone is not told that its numbers mean something else', async () => {
    const before = lines.length;
    const answer = await fetch(`${hub.url}/api/calibrations`, {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify({ kind: 'linear', probe: 'display-t', by: 'Ana', why: 'routine', slope: 1, offset: 0.1 }),
    });
    expect(answer.status).toBeLessThan(300);
    const told = () => lines.slice(before).filter((line) => line.includes('calibration'));
    await waitUntil('the line', () => told().length > 0);
    expect(told()[0]).toMatch(/^Saved: Temperature calibration of Sump probe, Display, \d\d:\d\d$/);
  });
});
