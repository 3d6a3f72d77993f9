import fc from 'fast-check';
import { startPhone, startProbeLine } from '../faults/people.ts';
import { promptRules } from '../faults/rooms.ts';
import { inScene } from '../faults/scene.ts';
import { postJson, roomText, startHubProcess } from '../servers/hub-process.ts';
import { startMosquitto } from '../servers/mosquitto.ts';
import { waitUntil } from '../servers/server-process.ts';
import { createExpectations, type Episode, isAbout, isEnd } from './what-must-be-told.ts';

/** One step of a history with the hub's own process, a real broker, and the clock on the wall. */
export type RealStep =
  | { do: 'water'; temperature_C: number }
  | { do: 'test'; alkalinity_dKH: number }
  | { do: 'kill' }
  | { do: 'broker'; is: 'away' | 'back' }
  | { do: 'phone'; is: 'away' | 'back' }
  | { do: 'wait'; milliseconds: number };

const ways = fc.constantFrom('away' as const, 'back' as const);

export const realHistories: fc.Arbitrary<RealStep[]> = fc.array(
  fc.oneof(
    fc.record({ do: fc.constant('water' as const), temperature_C: fc.constantFrom(25.6, 27.5, 23.9) }),
    fc.record({ do: fc.constant('test' as const), alkalinity_dKH: fc.constantFrom(8.2, 12, 6) }),
    fc.record({ do: fc.constant('kill' as const) }),
    fc.record({ do: fc.constant('broker' as const), is: ways }),
    fc.record({ do: fc.constant('phone' as const), is: ways }),
    fc.record({ do: fc.constant('wait' as const), milliseconds: fc.constantFrom(0, 300, 1_500) }),
  ),
  { minLength: 4, maxLength: 10 },
);

const blocks = {
  ...promptRules,
  backups: { enabled: false },
  probes: [{ id: 't', system: 'display', metric: 'temperature', every_seconds: 5, mqtt: { topic: 'tank/t' } }],
};
const probeEachMs = 250;
const healsWithinMs = 60_000;

/** Plays a history and gives what was wrong with what the phone was told, in sentences; none when all is well. */
export function complaintsOfReal(history: readonly RealStep[]): Promise<string[]> {
  return inScene(async (scene) => {
    const dir = scene.folder();
    const broker = await startMosquitto({ config: 'max_queued_messages 100000' });
    scene.atEnd(broker.stop);
    const text = roomText(dir, { ...blocks, mqtt: { url: `mqtt://127.0.0.1:${broker.port}` } });
    const phone = await startPhone(scene, broker.port);
    const line = await startProbeLine(scene, broker.port);
    let hub = await startHubProcess(dir, text);
    scene.atEnd(() => hub.end('SIGKILL'));
    const expected = createExpectations();
    let temperature_C = 25.6;
    let isBrokerUp = true;
    let isPhoneHere = true;
    const probe = setInterval(
      () => line.publish('tank/t', (temperature_C + Math.random() / 100).toFixed(3)),
      probeEachMs,
    );
    scene.atEnd(() => clearInterval(probe));

    async function brokerIs(up: boolean): Promise<void> {
      if (up === isBrokerUp) return;
      isBrokerUp = up;
      await (up ? broker.restart() : broker.kill());
    }
    async function phoneIs(here: boolean): Promise<void> {
      if (here === isPhoneHere || (here && !isBrokerUp)) return;
      isPhoneHere = here;
      await (here ? phone.comeBack() : phone.leave());
    }
    async function take(step: RealStep): Promise<void> {
      switch (step.do) {
        case 'water':
          temperature_C = step.temperature_C;
          return expected.put('temperature', temperature_C, Date.now(), false);
        case 'test': {
          const atMs = Date.now();
          const body = { system: 'display', analyte: 'alkalinity', value: step.alkalinity_dKH, confirmed: true };
          const { status } = await postJson(`${hub.url}/api/tests`, body);
          return expected.put('alkalinity', step.alkalinity_dKH, atMs, status === 201);
        }
        case 'kill':
          await hub.end('SIGKILL');
          hub = await startHubProcess(dir, text);
          return;
        case 'broker':
          return brokerIs(step.is === 'back');
        case 'phone':
          return phoneIs(step.is === 'back');
        case 'wait':
          await new Promise((resolve) => setTimeout(resolve, step.milliseconds));
      }
    }

    for (const step of history) await take(step);
    await brokerIs(true);
    await phoneIs(true);
    const wasHeard = (episode: Episode) =>
      phone.heard.some(
        ({ topic, text: said, atMs }) =>
          topic === 'brinekeep/phone' && atMs >= episode.fromMs && !isEnd(said) && isAbout(episode, said),
      );
    // Answered 201, or out of its band still.
    const due = () =>
      expected.episodes
        .filter((each) => each.isSure || each.toMs === undefined)
        .filter((each) => !expected.needNotRing(each, wasHeard, Date.now()));
    await waitUntil('all is told', () => due().every(wasHeard), { withinMs: healsWithinMs }).catch(() => {});
    const never = due()
      .filter((each) => !wasHeard(each))
      .map(({ what, side }) => `never told: ${what} ${side}`);
    const madeUp = phone
      .lines()
      .filter((said) => !isEnd(said) && /band/.test(said) && !expected.episodes.some((each) => isAbout(each, said)))
      .map((said) => `made up: ${said}`);
    return [...never, ...madeUp];
  });
}
