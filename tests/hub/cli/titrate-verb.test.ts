import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import { hubAdaptersOn } from '#hub/compose.ts';
import type { Hub } from '#hub/room/hub.ts';
import { seededRandom } from '../../../hub/demo/seeded-random.ts';
import { createManualClock } from '../../adapters/clock/manual-clock.ts';
import { gaussianFrom, simulatedBeaker } from '../../rules/titration/simulated-beaker.ts';
import { usualTruth } from '../../rules/titration/simulated-run.ts';
import { freePort } from '../../servers/free-port.ts';
import { configOf, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';
import { patience, waitUntil } from '../../servers/server-process.ts';
import { verbHere } from './verb-here.ts';

vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

describe('a titration from the command line', () => {
  const { dir, remove } = scratchRoom();
  const path = join(dir, 'room.yaml');
  const clock = createManualClock(Date.parse('2026-06-01T12:00:00Z'));
  const beaker = simulatedBeaker(usualTruth, gaussianFrom(seededRandom(5)));
  let time_s = 0;
  let hub: Hub | undefined;

  beforeAll(async () => {
    const blocks = {
      http: { port: await freePort() },
      probes: [{ id: 'ph-1', system: 'display', metric: 'ph', mqtt: { topic: 'ph', format: 'number' } }],
    };
    writeFileSync(path, roomText(dir, blocks));
    hub = await startHubHere(configOf(readFileSync(path, 'utf8')), hubAdaptersOn(clock));
  });
  afterAll(async () => {
    await hub?.stop();
    remove();
  });

  const titrate = (verb: string, ...args: string[]) => verbHere(['titrate', verb, '--config', path, ...args]);
  const start = (...args: string[]) => titrate('start', '--system', 'display', '--acid-mol-kg', '0.1', ...args);

  /** Readings as the pipeline would have stored them. */
  function pass(seconds: number): void {
    for (let second = 0; second < seconds; second += 1) {
      clock.advance(1000);
      time_s += 1;
      beaker.goOnTo(time_s);
      const series = { system: 'display', metric: 'ph', probe: 'ph-1' } as const;
      hub?.store.add([{ series, timeMs: clock.nowMs(), quality: { flag: 'pass', value: beaker.shown() } }]);
    }
  }

  test('a run that lacks what it needs begins, or one is asked for that does not run', async () => {
    expect((await titrate('status')).err).toBe('no titration is running. Start one: brinekeep titrate start\n');
    expect((await start()).err).toContain('either sample_ml or sample_g');
    const unknown = await start('--sample-g', '100');
    expect({ code: unknown.code, err: unknown.err }).toEqual({
      code: 1,
      err: 'Measure it first: the salinity of display is not known: give it\n',
    });
    expect((await start('--sample-g', 'much')).code).toBe(2);
    const weak = await start('--sample-g', '100', '--salinity', '35', '--temperature', '90');
    expect(weak.err).toContain('temperature_c');
  });

  test('the amounts that it tells are not those of the run, or the result is not kept', async () => {
    const begun = await start(
      '--sample-g',
      '100',
      '--salinity',
      '35',
      '--temperature',
      '25',
      '--airing',
      'bubbled',
      '--acid-by',
      'g',
      '--detach',
    );
    expect(begun.out).toContain('never water into acid');
    pass(40);
    const said = await titrate('guide');
    expect(said.out).toMatch(/Add \d+\.\d+ g of acid/);
    // A slip is taken back, and what is typed is obeyed in its order.
    const slip = await verbHere(['titrate', 'guide', '--config', path], '9.9\nu\nmuch\nq\n');
    expect(slip.out).toContain('amount: found "much", need a number');
    let isDone = false;
    for (let look = 0; look < 400 && !isDone; look += 1) {
      const { out } = await titrate('status');
      const told = /^Add ([\d.]+) g of acid/.exec(out)?.[1];
      isDone = out.startsWith('Done:');
      if (told !== undefined) {
        beaker.add(Number(told));
        expect((await titrate('acid', told)).code).toBe(0);
      }
      pass(8);
    }
    const status = await titrate('status');
    expect(status.out).toMatch(
      /so far \d\.\d\d dKH, 95 % interval \d\.\d\d to \d\.\d\d, from \d+ points, Gran \d\.\d\d/,
    );
    const finished = await titrate('finish', '--by', 'Ana');
    expect(finished.out).toMatch(/^Saved: alkalinity \d\.\d+ dKH ± 0\.\d\d \(95 %\), from \d+ points\n$/);
    const [entry] = hub?.store.journal({ kind: 'test', system: 'display' }) ?? [];
    // 2500 µmol/kg × 1.02334 kg/L / 0.356652 meq/L: by hand 7.173 dKH.
    expect(Math.abs(Number(entry?.body['value']) - 7.173)).toBeLessThan(0.08);
    expect((await titrate('status')).code).toBe(1);
  });

  test('acid that was mistyped is read as that before it, once it is put right', async () => {
    await start('--sample-g', '100', '--salinity', '35', '--temperature', '25', '--acid-by', 'g', '--detach');
    pass(40);
    const poured = clock.nowMs();
    await titrate('acid', '9.9');
    pass(30);
    await titrate('undo');
    pass(5);
    await titrate('acid', '1.1');
    const portions = () => JSON.parse(hub?.store.document('titration/display') ?? '').portions;
    expect(portions()).toMatchObject([{ amount: 1.1, timeMs: poured + 35_000, maybeInSinceMs: poured }]);
    pass(5);
    await titrate('acid', '0.2');
    expect(portions()[1].maybeInSinceMs).toBeUndefined();
    await titrate('give-up');
  });

  test.each([-3_600_000, 8 * 3_600_000])(
    'a clock that steps by %d ms leaves the run waiting, ends the wait for CO2, or loses the run',
    async (byMs) => {
      await start('--sample-g', '100', '--salinity', '35', '--temperature', '25', '--acid-by', 'g', '--detach');
      pass(40);
      await titrate('acid', '1.2');
      pass(40);
      clock.step(byMs);
      pass(3);
      await waitUntil('the hub has seen the step', async () => (await titrate('status')).out.startsWith('Stop:'));
      const { out } = await titrate('status');
      expect(out).toMatch(/^Stop: the clock was moved during this run\. Save what is known so far, or give it up/);
      expect((await titrate('acid', '1')).err).toContain('the clock was moved during this run');
      expect((await titrate('finish')).err).toContain('too few points');
      expect((await titrate('give-up')).out).toMatch(/given up/);
    },
  );

  test('a run that is given up is kept', async () => {
    await start('--sample-ml', '100', '--salinity', '35', '--temperature', '25', '--detach');
    expect((await titrate('finish')).err).toContain('too few points');
    expect((await titrate('go-on')).err).toContain('nothing waits for CO2');
    expect((await titrate('undo')).err).toContain('nothing to take back');
    expect((await titrate('give-up')).out).toMatch(/given up. Nothing was kept/);
    expect(hub?.store.journal({ kind: 'test', system: 'display' })).toHaveLength(1);
  });
});
