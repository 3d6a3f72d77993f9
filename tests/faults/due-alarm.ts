import { postJson } from '../servers/hub-process.ts';
import { waitUntil } from '../servers/server-process.ts';
import type { Row } from './fault.ts';
import type { HealthWatch } from './health-watch.ts';

/** Tanks with a band of alkalinity alone, for alarms that the fault itself knows to be due. */
export function tanksToTest(count: number) {
  return Array.from({ length: count }, (_, n) => {
    return { id: `tank${n}`, name: `Tank ${n}.`, volume_l: 400, bands: { alkalinity: { low: 7.5, high: 9 } } };
  });
}

/** A test of 12 dKH in the nth of them: its alarm has no delay, whatever the clock of the room does, and is due at once. */
export async function testTooHigh(watch: HealthWatch, url: string, n: number): Promise<void> {
  watch.mustTell(`the test of tank ${n}`, new RegExp(`Tank ${n}\\..*above the band`));
  const answer = await postJson(`${url}/api/tests`, {
    ...{ system: `tank${n}`, analyte: 'alkalinity', value: 12, confirmed: true },
  });
  if (answer.status !== 201) throw new Error(`a test is answered ${answer.status} ${await answer.text()}`);
}

/** Waits for what is due, then ends the watch: what was never told, and what the health said meanwhile. */
export async function toldRows(watch: HealthWatch, during: string, due: number): Promise<Row[]> {
  await waitUntil('all that is due is told', () => watch.untold().length === 0).catch(() => {});
  await watch.hasAnswered();
  const untold = watch.untold();
  return [
    {
      ...{ of: `alarms, ${during}`, caused: 1, stake: due, lost: untold.length, doubled: 0, recoveryMs: [] },
      broken: untold.length === 0 ? [] : [`never told: ${untold.slice(0, 3).join(', ')}`],
    },
    await watch.row(during),
  ];
}
