import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { PassThrough } from 'node:stream';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { runCommandLine } from '#hub/cli/command-line.ts';
import { adaptersForVerbs } from '#hub/compose.ts';
import { scratchRoom } from '../../../servers/hub-process.ts';
import { verbHere } from '../../cli/verb-here.ts';

type Line = Record<string, unknown>;
type Answer = { time: string; system: string; advice: Line[]; estimates: (Line & { level: number })[] };

const at = (day: number, hour = 9): string => new Date(Date.UTC(2026, 0, 5 + day, hour)).toISOString();
const alkalinity = (day: number, value: number): Line => ({
  ...{ time: at(day), kind: 'test', system: 'display', analyte: 'alkalinity', value },
});
const ask = (day: number, hour?: number): Line => ({ time: at(day, hour), ask: 'display' });
const jsonl = (lines: readonly Line[]): string => lines.map((line) => JSON.stringify(line)).join('\n');
const answersOf = (out: string): Answer[] =>
  out
    .trimEnd()
    .split('\n')
    .filter((line) => line !== '')
    .map((line) => JSON.parse(line) as Answer);

describe('a diary of JSON lines', () => {
  const { dir, remove } = scratchRoom();
  const config = join(dir, 'room.yaml');
  beforeAll(() => {
    writeFileSync(
      config,
      `site: {name: Invented room}
systems:
  - id: display
    name: Display
    volume_l: 400
    bands:
      alkalinity: {low: 7.5, high: 9, most_per_day: 0.5}
      calcium: {low: 400, high: 450}
    stocks:
      - {id: soda, name: Soda, substance: sodium_carbonate, grams_per_litre: 50, container_ml: 5000}
      - {id: chloride, name: Calcium, substance: calcium_chloride, grams_per_litre: 100}
    standing_plan: [{stock: soda, ml_per_day: 100, times_per_day: 4}]
`,
    );
  });
  afterAll(remove);

  test('a program that drives it misses a field, or finds another', async () => {
    const days = [0, 1, 2, 3, 4, 5, 6, 7, 8, 9];
    // A level that falls by 0.3 a day under a plan of 0.66: something is to be said.
    const diary = [...days.map((day) => alkalinity(day, 8.6 - 0.1 * day)), ask(9)];
    const ended = await verbHere(['advise', config], jsonl(diary));
    expect({ code: ended.code, err: ended.err }).toEqual({ code: 0, err: '' });
    const [answer] = answersOf(ended.out);
    expect(Object.keys(answer!)).toEqual(['time', 'system', 'advice', 'estimates']);
    expect(answer).toMatchObject({ time: at(9), system: 'display' });
    expect(answer!.advice.map(({ analyte }) => analyte)).toContain('alkalinity');
    for (const each of answer!.advice) {
      const keys = ['analyte', 'kind', 'plan', 'today', 'hold_backs', 'dosing_now', 'retest_at', 'reason'];
      expect(Object.keys(each).sort()).toEqual(keys.sort());
      expect(['dose', 'nothing', 'wait', 'hold_back']).toContain(each['kind']);
      expect(['leave', 'lower', 'stop']).toContain(each['dosing_now']);
      for (const list of ['plan', 'today', 'hold_backs']) expect(each[list]).toBeInstanceOf(Array);
      expect(each['retest_at']).toMatch(/^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z$/);
    }
    const keys = ['analyte', 'level', 'level_sd', 'demand_per_day', 'demand_sd'];
    expect(answer!.estimates.map((each) => Object.keys(each))).toEqual([keys]);
    // 0.66136 a day by the plan (tests/hub/judgement/estimate/containers-and-plan.test.ts) and 0.1 that is lost beside it.
    const { level, demand_per_day: demand } = answer!.estimates[0]!;
    expect(Math.abs(level - 7.7)).toBeLessThan(0.2);
    expect(Math.abs(Number(demand) - 0.76)).toBeLessThan(0.1);
  });

  test('two tests five minutes apart begin daily doses for a use that nobody has seen', async () => {
    const noPlan = join(dir, 'no-plan.yaml');
    writeFileSync(noPlan, readFileSync(config, 'utf8').replace(/ *standing_plan:.*\n/, ''));
    const again = { ...alkalinity(0, 8.9), time: new Date(Date.parse(at(0)) + 300_000).toISOString() };
    const ended = await verbHere(['advise', noPlan], jsonl([alkalinity(0, 8.9), again, ask(0, 10)]));
    const [advice] = answersOf(ended.out)[0]!.advice;
    expect(advice).toMatchObject({ kind: 'hold_back', plan: [], today: [], hold_backs: ['use_not_known'] });
    expect(Date.parse(String(advice!['retest_at']))).toBe(Date.parse(again.time) + 86_400_000);
    const next = await verbHere(['advise', noPlan], jsonl([alkalinity(0, 8.9), again, alkalinity(1, 7.9), ask(1)]));
    expect(answersOf(next.out)[0]!.advice[0]).toMatchObject({ kind: 'dose', hold_backs: [] });
  });

  test('one bad line ends the diary, or is passed over in silence', async () => {
    const good = [alkalinity(0, 8.1), alkalinity(1, 8.2)];
    const bad = [
      '{"time": "2026-01-06T10:00:00Z", "kind": "test"',
      '[]',
      JSON.stringify({ ...alkalinity(1, 8), analyte: 'alkalinit' }),
      JSON.stringify({ ...alkalinity(1, 8), colour: 'pink' }),
      JSON.stringify({ ...alkalinity(1, 8), value: 145 }),
      JSON.stringify({ ...alkalinity(1, 8), system: 'sump' }),
      JSON.stringify({ ...alkalinity(1, 8), time: 'yesterday' }),
      JSON.stringify({ time: at(99), kind: 'dose', system: 'display', stock: 'sodo', ml: 5 }),
      JSON.stringify({ time: at(1), ask: 'sump' }),
      JSON.stringify(alkalinity(0, 8.1)),
      'x'.repeat(200_000),
    ];
    const text = [jsonl(good), ...bad, '', jsonl([ask(1)])].join('\n');
    const ended = await verbHere(['advise', config], text);
    expect(ended.code).toBe(1);
    // A line that is well written is judged when the next ones have shown that its date is right.
    const named = ended.err
      .trimEnd()
      .split('\n')
      .map((line) => Number(/^line (\d+):/.exec(line)?.[1]));
    expect(named.toSorted((a, b) => a - b)).toEqual(bad.map((_, index) => index + 3));
    const alone = await verbHere(['advise', config], jsonl([...good, ask(1)]));
    expect(ended.out).toBe(alone.out);
    expect(answersOf(alone.out)).toHaveLength(1);
  });

  test('one line with a wrong year makes all later ones run back in time', async () => {
    const days = [0, 1, 2, 3, 4];
    const diary = days.map((day) => alkalinity(day, 8.3 - 0.05 * day));
    const far: Line = alkalinity(3600, 8.1);
    const dose: Line = { time: at(3601), kind: 'dose', system: 'display', stock: 'soda', ml: 5 };
    const alone = await verbHere(['advise', config], jsonl([...diary, ask(4)]));
    for (const place of [0, 3]) {
      const lines = [...diary.slice(0, place), far, dose, ...diary.slice(place), ask(4)];
      const ended = await verbHere(['advise', config], jsonl(lines));
      expect(ended.out).toBe(alone.out);
      expect(ended.err.trimEnd().split('\n')).toEqual([
        expect.stringMatching(new RegExp(`^line ${place + 1}: time: found 2035-`)),
        expect.stringMatching(new RegExp(`^line ${place + 2}: time: found 2035-`)),
      ]);
    }
    const asked = await verbHere(
      ['advise', config],
      jsonl([...diary.slice(0, 3), ask(3600), ...diary.slice(3), ask(4)]),
    );
    expect(asked).toMatchObject({ code: 0, err: '' });
    expect(answersOf(asked.out).at(-1)).toEqual(answersOf(alone.out)[0]);
  });

  test('a keeper who paused for a season is taken for a wrong date', async () => {
    const later = [90, 91, 92].map((day) => alkalinity(day, 8.3));
    const ended = await verbHere(
      ['advise', config],
      jsonl([alkalinity(0, 8.3), alkalinity(1, 8.3), ...later, ask(92)]),
    );
    expect(ended).toMatchObject({ code: 0, err: '' });
    const last = await verbHere(['advise', config, '--as-table'], jsonl([alkalinity(0, 8.3), alkalinity(90, 8.4)]));
    expect(last.out.match(/^2026-/gm)).toHaveLength(2);
  });

  test('a test after a dose of the same time is taken as one before it', async () => {
    // 100 mL of soda lift the 400 L by 0.661: a test of 8 before it leaves 8.66, one after it 8.
    const dose: Line = { time: at(1), kind: 'dose', system: 'display', stock: 'soda', ml: 100 };
    const level = async (lines: readonly Line[]): Promise<number> => {
      const { out } = await verbHere(['advise', config], jsonl([alkalinity(0, 8), ...lines, ask(1)]));
      return answersOf(out)[0]!.estimates[0]!.level;
    };
    const sure = { ...alkalinity(1, 8), sd: 0.01 };
    expect(await level([sure, dose])).toBeCloseTo(8.66, 1);
    expect(await level([dose, sure])).toBeCloseTo(8, 1);
  });

  test('what was advised counts as done although nobody says so', async () => {
    const days = [0, 1, 2, 3, 4, 5, 6, 7];
    const asked = days.flatMap((day) => [alkalinity(day, 7.4), ask(day)]);
    const silent = [...days.map((day) => alkalinity(day, 7.4)), ask(7)];
    const [often, once] = await Promise.all([asked, silent].map((lines) => verbHere(['advise', config], jsonl(lines))));
    expect(answersOf(often!.out).at(-1)!.estimates).toEqual(answersOf(once!.out)[0]!.estimates);
    expect(answersOf(often!.out).at(-1)!.advice[0]!['kind']).not.toBe('nothing');
  });

  test('a keeper who reads the table cannot see what was said after a test, or why', async () => {
    const days = [0, 1, 2, 3, 4, 5];
    const diary = [...days.map((day) => alkalinity(day, 8.3)), { ...alkalinity(5, 8), analyte: 'ph' }, ask(5)];
    const ended = await verbHere(['advise', config, '--as-table'], jsonl(diary));
    expect(ended).toMatchObject({ code: 0, err: '' });
    const [names, rule, first, why, ...rest] = ended.out.trimEnd().split('\n');
    expect(names).toMatch(/^time +system +tested +level +use a day +advice$/);
    expect(rule).toMatch(/^[- ]+$/);
    expect(first).toMatch(/^2026-01-05 09:00 {2}display +alkalinity 8\.3 dKH +8\.\d\d ± \d\.\d\d +\S+ ± \S+ +\S/);
    expect(why).toMatch(/^ {18}\S.{20,}$/);
    const rows = [first, ...rest].filter((line) => line?.startsWith('2026-'));
    // One row for each test of what advice is given on, and the reason where the advice is another.
    expect(rows).toHaveLength(6);
    expect(rest.length).toBeLessThan(10);
  });

  test('whoever drives it waits for an answer that waits for the next line', async () => {
    const input = new PassThrough();
    const output = new PassThrough();
    const ended = runCommandLine(['advise', config, '--follow'], adaptersForVerbs, {
      ...{ input, output },
      print: () => {},
      complain: () => {},
    });
    const answers = output[Symbol.asyncIterator]() as AsyncIterator<Buffer>;
    let level = 8;
    for (let day = 0; day < 5; day++) {
      input.write(`${JSON.stringify(alkalinity(day, level))}\n${JSON.stringify(ask(day))}\n`);
      const answer = JSON.parse(((await answers.next()).value as Buffer).toString()) as Answer;
      expect(answer.time).toBe(at(day));
      level = answer.estimates[0]!.level - 0.1;
    }
    input.end();
    expect(await ended).toBe(0);
  });
});
