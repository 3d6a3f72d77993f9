import { atMost, type BenchPart, type Measurement } from '#hub/bench/measurement.ts';
import { startChild } from './child.ts';
import { inScratch } from './scratch.ts';

const daySeconds = 86_400;

/** An alarm in so many seconds, where there are any. */
const lifeS = 1800;

function megabytesADay(way: 'store' | 'room' | 'alarms' | 'no-alarms' | 'rows', seconds: number): Promise<number> {
  return inScratch(async (dir) => {
    const bytes = await startChild<number>('writes-child', { dir, seconds, way }).result;
    return (bytes / 1e6) * (daySeconds / seconds);
  });
}

/**
 * What the kernel counts as written to the device (/proc/PID/io, `write_bytes`) by a process that lives so many simulated
 * hours at ten readings a second, scaled to a day.
 */
export const writesPart: BenchPart = {
  name: 'writes',
  async measure(isQuick): Promise<Measurement[]> {
    const hours = isQuick ? 0.02 : 6;
    const seconds = hours * 3600;
    const rows = await megabytesADay('rows', isQuick ? 5 : 120);
    const how = `over ${hours} simulated hours`;
    const line = (name: string, figure: number) => ({
      ...{ name, figure, unit: 'MB a day', ratio: figure / rows, beside: 'a commit for each row' },
    });
    const store = await megabytesADay('store', seconds);
    const room = await megabytesADay('room', seconds);
    // Beside a room whose probe stands as near to the edge of its band and does not leave it.
    const lives = isQuick ? 1 : 8;
    const alarmS = lives * lifeS;
    const perDay = (await megabytesADay('alarms', alarmS)) - (await megabytesADay('no-alarms', alarmS));
    const kilobytesOfLife = (perDay * 1000 * (alarmS / daySeconds)) / lives;
    return [
      { ...line('written at 10 readings/s: readings alone', store), aim: atMost(store, 60, 'MB'), remark: how },
      {
        ...line('written at 10 readings/s: with what rules and presence keep', room),
        ...{ aim: atMost(room, 60, 'MB'), remark: how },
      },
      {
        name: "written for an alarm's life: raised, told, acknowledged, cleared, told",
        ...{ figure: kilobytesOfLife, unit: 'kB', aim: atMost(kilobytesOfLife, 12, 'kB') },
        remark: `${lives} of them, beside the same room without; a start after them is in it`,
      },
    ];
  },
};
