import fc from 'fast-check';
import { afterAll, beforeAll, expect, test, vi } from 'vitest';
import type { SystemView } from '#hub/api/room.ts';
import { isCounted } from '#rules/verdicts/counted-alarm.ts';
import { adviceLine } from '../../../../hub/web/src/room/advice-line.ts';
import { leaveWords } from '../../../../hub/web/src/room/ahead-words.ts';
import { foresee, rowsOf } from '../../../../hub/web/src/room/foresight.ts';
import { sentenceOf, sentenceOfRoom } from '../../../../hub/web/src/room/headline.ts';
import { patience } from '../../../servers/server-process.ts';
import { anyRoom, type Told, toldOf } from './any-room.ts';

/** Of what the real hub says of one room at one moment no two statements may contradict: headline, rows, alarms, advice, Now, phone. */

const rooms = Number(process.env['ROOMS'] ?? 8);
// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: (60_000 + rooms * 15_000) * patience() });
beforeAll(() => void vi.useFakeTimers({ toFake: ['setInterval', 'clearInterval'] }));
afterAll(() => void vi.useRealTimers());

const asksOf = ({ advice }: SystemView) =>
  advice.filter((each) => each.declined === null && each.advice.kind !== 'nothing');

/** An alarm that is neither silenced nor known from its cause has its one line, and nothing else is called one. */
function alarmsAgree({ room, list, today, allWell }: Told): void {
  const active = room.systems.flatMap(({ alarms }) => alarms).filter(isCounted);
  const headline = sentenceOfRoom(room, room.time);
  expect(Number(/(\d+) active alarm/.exec(headline)?.[1] ?? 0), headline).toBe(active.length);
  expect(Number(/^(\d+) active alarm/.exec(allWell)?.[1] ?? 0), allWell).toBe(active.length);
  for (const { id, rule, state, system, metric, message } of active) {
    if (state === 'shelved') continue;
    const own = list.deeds.filter(
      (deed) =>
        deed.id === `alarm:${id}` ||
        (rule === 'test_overdue' &&
          deed.act.do === 'test' &&
          deed.act.system === system &&
          deed.act.analytes.includes(metric)),
    );
    expect(own.length, `${message} ${JSON.stringify(list.deeds)}`).toBe(1);
  }
  for (const deed of list.deeds)
    if (deed.id.startsWith('alarm:') && deed.more === undefined)
      expect(active.some(({ id, message }) => deed.id === `alarm:${id}` && message.startsWith(deed.what))).toBe(true);
  const lines = today.split('\n');
  if (list.calm !== undefined) expect(lines).toEqual([`Today: ${list.calm}`]);
  else expect(lines[0]).toBe(`Today: ${list.deeds.length} to do.`);
  for (const [place, { what }] of list.deeds.slice(0, 5).entries())
    expect(lines[place + 1]).toContain(what.slice(0, 60));
}

/** What is asked for in the advice of a tank is asked for on the list, in the same words, and the other way round. */
function adviceAgrees({ room, list }: Told): void {
  for (const system of room.systems) {
    const asks = asksOf(system);
    for (const { analyte, advice } of asks) {
      const line = adviceLine(system, advice);
      const own = list.deeds.filter(
        ({ act }) =>
          (act.do === 'dose' && act.system === system.id && act.analyte === analyte) ||
          (act.do === 'test' && act.system === system.id && act.analytes.includes(analyte)),
      );
      for (const dose of [...advice.plan, ...advice.today]) {
        const words = own.map(({ what }) => what);
        if (dose.risePerDay <= 0) continue;
        if (dose.product === undefined) {
          const [amount] = words.flatMap((what) => /^Dose (.+) of [a-z]+ (today|a day)$/.exec(what)?.[1] ?? []);
          expect(line).toContain(amount ?? 'an amount');
        } else {
          const amount = `${Number((dose.amountPerDay ?? 0).toFixed(2))} ${dose.unit} of ${dose.product.name}`;
          expect(words.join('; '), line).toContain(amount);
          expect(line).toContain(amount);
        }
      }
      if (advice.kind === 'hold_back' && !advice.holdBacks.some(({ rule }) => rule === 'no_test'))
        expect(own.length, line).toBeGreaterThan(0);
    }
    for (const { act, what } of list.deeds) {
      if (act.do !== 'dose' || act.system !== system.id) continue;
      expect(
        asks.map(({ analyte }) => analyte),
        what,
      ).toContain(act.analyte);
    }
    // Nobody is asked to give more of what he is asked to test before he gives any.
    for (const { advice } of asks)
      if (advice.kind === 'hold_back')
        for (const { before, risePerDay } of advice.plan) expect(risePerDay).toBeLessThanOrEqual(before.risePerDay);
  }
}

/** The level that advice speaks of lies where the row and the headline say that it lies. */
function levelsAgree({ room }: Told): void {
  for (const system of room.systems)
    for (const { analyte, advice } of system.advice) {
      const row = system.metrics.find(({ metric }) => metric === analyte);
      if (row === undefined) continue;
      const { order } = foresee(row, room.time);
      const leaves = leaveWords(row, room.time, room.timezone);
      const said = `${advice.reason} | ${order} | ${leaves} | ${row.value}`;
      if (/, (above|below) its band/.test(advice.reason))
        expect(order === 'outside' || /has probably left|may be outside/.test(leaves ?? ''), said).toBe(true);
      if (/in its band|near the middle of its band/.test(advice.reason)) expect(order, said).not.toBe('outside');
    }
}

/** Nothing is calm above, beside or below what is not. */
function calmAgrees({ room, list, allWell }: Told): void {
  const headline = sentenceOfRoom(room, room.time);
  const active = room.systems.flatMap(({ alarms }) => alarms).filter(isCounted);
  const rows = room.systems.flatMap(({ metrics }) => rowsOf(metrics, room.time).first);
  const outside = rows.filter((row) => foresee(row, room.time).order === 'outside');
  if (list.calm === 'Nothing to do now.') {
    expect(active).toEqual([]);
    expect(outside.map(({ metric }) => metric)).toEqual([]);
    expect(headline).not.toMatch(/outside|above its band|below its band|no signal/);
    for (const system of room.systems)
      for (const { advice } of asksOf(system))
        expect(['wait', 'hold_back'], adviceLine(system, advice)).toContain(advice.kind);
  }
  if (/^All is well/.test(allWell)) {
    expect(outside.filter(({ probe }) => probe !== null)).toEqual([]);
    expect(headline).not.toMatch(/\d active alarm/);
  }
  if (/^Everything is steady in its band/.test(headline)) {
    expect(list.deeds.filter(({ urgency }) => urgency === 'now')).toEqual([]);
    for (const system of room.systems)
      for (const { advice } of asksOf(system)) expect(advice.reason).not.toMatch(/, (above|below) its band/);
  }
  for (const system of room.systems)
    if (/everything is steady/i.test(sentenceOf(system, room.time, room.timezone)))
      expect(
        system.alarms.filter(
          (alarm) => isCounted(alarm) && system.metrics.some(({ metric }) => metric === alarm.metric),
        ),
      ).toEqual([]);
}

test('two statements about one room contradict each other', async () => {
  await fc.assert(
    fc.asyncProperty(anyRoom, async (given) => {
      const told = await toldOf(given);
      alarmsAgree(told);
      adviceAgrees(told);
      levelsAgree(told);
      calmAgrees(told);
    }),
    { numRuns: rooms, endOnFailure: true },
  );
});
