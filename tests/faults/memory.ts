import { fileURLToPath } from 'node:url';
import { startProcess, waitUntil } from '../servers/server-process.ts';
import type { Fault, Row } from './fault.ts';

/** Beyond this growth from the middle of the run to its end something is kept that should not be. */
const mostHeapGrowth = 1.25;
const mostHeapGrowthMegabytes = 30;

const month = fileURLToPath(new URL('month-of-load.ts', import.meta.url));

export type DayFigures = { day: number; heapMegabytes: number; residentMegabytes: number };
export type MonthFigures = {
  days: DayFigures[];
  said: number;
  kept: number;
  entries: number;
  keptEntries: number;
  alarms: number;
  /** What was due at the phone, and what the health said meanwhile. */
  told: Row[];
};

export const memorySteady: Fault = {
  name: 'memory',
  title: 'a month of load by the clock of the room: six probes each ten seconds, tests, doses, alarms',
  amount: { of: 'days', short: 2, long: 30 },
  needs: [],
  async run(scene, days) {
    const dir = scene.folder();
    const run = startProcess(process.execPath, [
      ...['--expose-gc', '--conditions=source', '--import', import.meta.resolve('tsx'), month, dir, String(days)],
    ]);
    scene.atEnd(() => run.end('SIGKILL'));
    const began = performance.now();
    await waitUntil('the month is over', () => !run.isRunning(), { withinMs: 3_600_000, explain: run.log });
    const seconds = (performance.now() - began) / 1000;
    const text = /^MONTH (.*)$/m.exec(run.log())?.[1];
    if (text === undefined) throw new Error(`the month did not come to its end: ${run.log().slice(-2_000)}`);
    const { days: figures, said, kept, entries, keptEntries, alarms, told } = JSON.parse(text) as MonthFigures;
    const last = figures.at(-1)!;
    const middle = figures.find(({ day }) => day >= Math.min(7, days / 2))!;
    const most = Math.max(middle.heapMegabytes * mostHeapGrowth, middle.heapMegabytes + mostHeapGrowthMegabytes);
    const show = figures
      .filter(({ day }) => [1, 7, 14, 21, 30].includes(day) || day === last.day)
      .map(
        ({ day, heapMegabytes, residentMegabytes }) =>
          `day ${day}: heap ${heapMegabytes}, resident ${residentMegabytes} MB`,
      );
    return [
      {
        ...{
          of: 'readings of the time',
          caused: figures.length,
          stake: said,
          lost: said - kept,
          doubled: 0,
          recoveryMs: [],
        },
        broken:
          last.heapMegabytes <= most
            ? []
            : [`the heap grew from ${middle.heapMegabytes} MB on day ${middle.day} to ${last.heapMegabytes} MB`],
        remark: `${show.join('; ')}; ${alarms} alarm events; ${(said / seconds).toFixed(0)} readings a second`,
      },
      {
        of: 'tests and doses of the time',
        caused: figures.length,
        stake: entries,
        lost: entries - keptEntries,
        doubled: 0,
        recoveryMs: [],
      },
      ...told,
    ];
  },
};
