import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import type { KitAnswer } from '#hub/api/kits.ts';
import type { NowAnswer } from '#hub/api/now.ts';
import { hubAdaptersOn } from '#hub/compose.ts';
import { createKits } from '#hub/flow/kits/kits.ts';
import { createLotWatch } from '#hub/judgement/kits/lot-watch.ts';
import type { BodyOf } from '#hub/model/journal/bodies.ts';
import type { Hub } from '#hub/room/hub.ts';
import { createManualClock } from '../../../adapters/clock/manual-clock.ts';
import { freePort } from '../../../servers/free-port.ts';
import { configOf, getJson, postJson, roomText, scratchRoom, startHubHere } from '../../../servers/hub-process.ts';
import { patience } from '../../../servers/server-process.ts';
import { verbHere } from '../../cli/verb-here.ts';

vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

const hourMs = 3_600_000;
const dayMs = 24 * hourMs;

describe('a kit at a running hub', () => {
  const { dir, remove } = scratchRoom();
  const path = join(dir, 'room.yaml');
  const clock = createManualClock(Date.parse('2026-06-01T12:00:00Z'));
  let hub: Hub | undefined;

  beforeAll(async () => {
    writeFileSync(path, roomText(dir, { http: { port: await freePort() } }));
    hub = await startHubHere(configOf(readFileSync(path, 'utf8')), hubAdaptersOn(clock));
  });
  afterAll(async () => {
    await hub?.stop();
    remove();
  });

  async function entered(value: number, more: Record<string, unknown> = {}): Promise<{ id: number; saved: string }> {
    const body = { system: 'display', analyte: 'alkalinity', value, confirmed: true, ...more };
    const response = await postJson(`${hub?.url}/api/tests`, body);
    expect(response.status).toBe(201);
    return (await response.json()) as { id: number; saved: string };
  }
  const bodyOf = (id: number) => hub?.store.journal({ id })[0]?.body as BodyOf<'test'> | undefined;
  const kit = (...args: string[]) => verbHere(['kit', args[0] ?? '', '--config', path, ...args.slice(1)]);

  test('a test by a kit that reads high counts as it was read, or what was typed is lost', async () => {
    const before = await entered(8.4);
    expect(bodyOf(before.id)?.kit).toBeUndefined();
    const opened = await kit(
      'open',
      '--name',
      'drops',
      '--analyte',
      'alkalinity',
      '--lot',
      'A1',
      '--resolution',
      '0.1',
    );
    expect(opened.out).toBe('k1: drops, lot A1, alkalinity: not compared with a reference yet\n');
    clock.advance(hourMs);
    const raw = await entered(8.4);
    expect(bodyOf(raw.id)).toMatchObject({ value: 8.4, kit: { id: 'k1', bias: 0 } });

    // Differences 0.3, 0.5, 0.4: mean 0.4; s = 0.1; half of 95 % is 4.30 × 0.0577 with 2 degrees of freedom, and 0.05 of the bottle.
    clock.advance(hourMs);
    const compared = await kit('compare', 'k1', '8.3', '8.5', '8.4', '--reference', '8', '--reference-sd', '0.05');
    expect(compared.out).toMatch(
      /^k1: drops, lot A1, alkalinity: reads 0\.4 dKH too high \(95 % 0\.\d+ to 0\.\d+\), from 3 tests; sd 0\.1 /,
    );
    clock.advance(hourMs);
    const corrected = await entered(8.4);
    expect(corrected.saved).toBe('Saved: alkalinity 8.4 dKH, counted as 8 dKH by what is known of drops');
    const body = bodyOf(corrected.id);
    expect(body).toMatchObject({ given_value: 8.4, kit: { id: 'k1' } });
    expect(body?.value).toBeCloseTo(8, 9);
    // sd of the kit drawn to 0.15 with the weight of two: √((2·0.1² + 2·0.15²)/4) = 0.1275; with 0.0764 of the bias: 0.1486.
    expect(body?.sd).toBeCloseTo(0.1486, 3);
    const byNone = await entered(8.1, { kit: 'none' });
    expect(bodyOf(byNone.id)).toMatchObject({ value: 8.1, kit: { id: 'none' } });
    expect(
      (await postJson(`${hub?.url}/api/tests`, { system: 'display', analyte: 'calcium', value: 420, kit: 'k1' }))
        .status,
    ).toBe(422);

    // Before it was held against anything tests stand as they are, until the history is asked for.
    expect(hub?.store.journal({ kind: 'test' }).map((each) => each.body['value'])).toEqual([
      8.4,
      8.4,
      body?.value,
      8.1,
    ]);
    const from = new Date(clock.nowMs() - 2.5 * hourMs).toISOString();
    expect((await kit('apply', 'k1', '--from', from, '--by', 'Ana')).out).toBe('corrected: 1 test\n');
    const after = hub?.store.journal({ kind: 'test' }) ?? [];
    expect(after.map((each) => Number(each.body['value']).toFixed(2))).toEqual(['8.40', '8.00', '8.00', '8.10']);
    expect(after.map((each) => each.body['given_value'])).toEqual([8.4, 8.4, 8.4, 8.1]);
    // Asked again it changes nothing, and corrects no test twice.
    expect((await kit('apply', 'k1', '--from', from, '--by', 'Ana')).out).toBe('corrected: 0 tests\n');
  });

  test('a single test of a kit without a scale tells a bias, or a kit that is not there is corrected by', async () => {
    await kit('open', '--name', 'hydrometer', '--analyte', 'salinity');
    const alone = await kit('compare', 'k2', '35.5', '--reference', '35', '--reference-sd', '0.1');
    expect(alone.err).toContain('test the reference twice');
    expect((await kit('compare', 'k9', '5', '--reference', '4', '--reference-sd', '0.1')).err).toContain(
      'You have: k1, k2',
    );
    expect((await kit('apply', 'k2', '--from', '2026-06-01T00:00:00Z', '--by', 'Ana')).err).toContain('not compared');
    expect((await kit('compare', 'k1', '8', '--titration', '1')).err).toContain('is no titration of alkalinity');
    expect((await kit('compare', 'k1', '8', '--reference', '8')).err).toContain('a reference goes with reference_sd');
  });

  test('a mistyped comparison corrects tests for good, or one in another unit is believed', async () => {
    const text = { system: 'display', analyte: 'calcium', confirmed: true };
    await kit('open', '--name', 'cups', '--analyte', 'calcium', '--resolution', '5');
    const [{ id } = { id: '' }] = (await getJson<KitAnswer[]>(`${hub?.url}/api/kits`)).filter(
      ({ name }) => name === 'cups',
    );
    // Of 420 mg/L, 4200 typed: no test that could be entered.
    const absurd = await kit('compare', id, '420', '--reference', '4200', '--reference-sd', '5');
    expect(absurd.err).toMatch(/reference: found 4200 mg\/L, allowed \d+ to \d+ mg\/L\. Is the unit right\?/);
    expect((await kit('compare', id, '-420', '--reference', '420', '--reference-sd', '5')).err).toContain('found: ');

    expect((await kit('compare', id, '420', '430', '--reference', '42', '--reference-sd', '5')).out).toContain(
      'too high',
    );
    clock.advance(hourMs);
    const stored = await postJson(`${hub?.url}/api/tests`, { ...text, value: 430 });
    const test = (await stored.json()) as { id: number };
    expect(bodyOf(test.id)?.value).toBe(47);
    const [compared] = hub?.store.journal({ kind: 'kit', order: 'newest' }) ?? [];
    expect(compared?.body).toMatchObject({ event: 'compared', kit: id });
    expect((await postJson(`${hub?.url}/api/entries/${compared?.id}/withdraw`, { by: 'Ana' })).status).toBe(201);
    expect((await kit('apply', id, '--from', '2026-06-01T00:00:00Z', '--by', 'Ana')).out).toBe('corrected: 1 test\n');
    const now = hub?.store.journal({ kind: 'test', order: 'newest' }).find(({ body }) => body['analyte'] === 'calcium');
    expect(now?.body).toMatchObject({ value: 430, given_value: 430 });
    expect(now?.body['sd']).toBeUndefined();
  });

  test('a new lot that reads another way is trusted without a word', async () => {
    for (let day = 0; day < 24; day += 1) {
      clock.advance(2 * dayMs);
      await entered(8.4 + (day % 3) * 0.05, { key: `old-${day}` });
    }
    expect((await getJson<KitAnswer[]>(`${hub?.url}/api/kits`)).flatMap(({ warnings }) => warnings)).toEqual([]);
    await kit('open', '--name', 'drops', '--analyte', 'alkalinity', '--lot', 'B7', '--resolution', '0.1');
    // A laboratory that reads otherwise says nothing of the lot.
    for (let day = 0; day < 2; day += 1) {
      await entered(9.9, { key: `laboratory-${day}`, kit: 'none' });
      clock.advance(dayMs / 4);
    }
    expect((await getJson<KitAnswer[]>(`${hub?.url}/api/kits`)).flatMap(({ warnings }) => warnings)).toEqual([]);
    for (let day = 0; day < 2; day += 1) {
      await entered(9.9, { key: `new-${day}` });
      clock.advance(dayMs);
    }
    const listed = await kit('list');
    expect(listed.out).toMatch(
      /^! Display tank: lot B7 of drops reads alkalinity 1\.\d+ dKH higher \(± \d\.\d+ dKH\) than expected from lot A1\. Test one sample/m,
    );
    const kits = await getJson<KitAnswer[]>(`${hub?.url}/api/kits`);
    expect(kits.find(({ lot }) => lot === 'A1')?.warnings).toEqual([]);

    // The list of what to do, and the phone once, over any number of looks and a restart.
    const lotsTodo = async () =>
      (await getJson<NowAnswer>(`${hub?.url}/api/now`)).deeds.filter(({ act }) => act.do === 'compare_kit');
    expect(await lotsTodo()).toMatchObject([
      { tank: 'display', urgency: 'today', what: 'Compare lot B7 of drops with the lot before', words: 'Test kits' },
    ]);
    const linesTold = () =>
      (hub?.store.outbox('phone of the test', 100) ?? [])
        .map(({ payload }) => payload)
        .filter((text) => text.includes('lot B7'));
    const watch = () =>
      createLotWatch({
        ...{ config: configOf(readFileSync(path, 'utf8')), store: hub!.store, kits: createKits(hub!.store) },
        ways: (notice) =>
          notice.is === 'line' ? [{ destination: 'phone of the test', key: notice.key, payload: notice.line }] : [],
        nudge: () => {},
      });
    hub?.store.commit({ documents: [{ name: 'lots_told', body: '' }] });
    const first = watch();
    first.tick(clock.nowMs());
    first.tick(clock.nowMs() + hourMs);
    watch().tick(clock.nowMs() + 2 * hourMs);
    expect(linesTold()).toHaveLength(1);
    expect(linesTold()[0]).toMatch(
      /^Have a look · Display tank: lot B7 of drops reads alkalinity 1\.\d+ dKH higher than expected from lot A1\. Test one/,
    );
    expect(linesTold()[0]!.length).toBeLessThanOrEqual(180);

    // Once it was held against something it is known, and nothing is to be done.
    const lot = kits.find((each) => each.lot === 'B7');
    await kit('compare', lot!.id, '9.9', '9.8', '--reference', '8.4', '--reference-sd', '0.05');
    expect(await lotsTodo()).toEqual([]);
  });

  test('a kit that reads too low is said to read a negative amount too high', async () => {
    const opened = await kit('open', '--name', 'magnesium drops', '--analyte', 'magnesium', '--resolution', '10');
    const [id = ''] = opened.out.split(':');
    // Differences -60, -40, -50: mean -50, and the interval lies evenly about it: it turns round with the sign.
    const read = await kit('compare', id, '1290', '1310', '1300', '--reference', '1350', '--reference-sd', '5');
    const [, low, high] = /: reads 50 mg\/L too low \(95 % ([\d.]+) to ([\d.]+)\), from 3 tests/.exec(read.out) ?? [];
    expect(Number(low)).toBeLessThan(50);
    expect((Number(low) + Number(high)) / 2).toBeCloseTo(50, 1);
  });

  test('what was held against a reference before the kit was entered here is kept and says nothing', () => {
    const kits = createKits(hub!.store);
    const nowMs = clock.nowMs();
    const { id } = kits.open({ name: 'calcium drops', analyte: 'calcium', resolution: 5 }, nowMs);
    const time = new Date(nowMs - dayMs).toISOString();
    const compared = kits.compare(id, { time, found: [430, 430], reference: 420, reference_sd: 1 }, nowMs);
    expect(compared.pairs).toHaveLength(2);
    // Both are 10 mg/L above the reference.
    expect(compared.found?.bias.value).toBeCloseTo(10, 9);
  });
});
