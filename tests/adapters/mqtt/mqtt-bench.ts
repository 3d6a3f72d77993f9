import { systemClock } from '#adapters/clock/system-clock.ts';
import { createMqttEdge } from '#adapters/mqtt/mqtt-edge.ts';
import type { MqttOptions, MqttSubscription } from '#adapters/mqtt/options.ts';
import type { Message, MessageLink } from '#adapters/ports/edge.ts';
import type { Observation } from '#adapters/ports/observation.ts';
import { type Mosquitto, type MosquittoOptions, startMosquitto } from '../../servers/mosquitto.ts';
import { waitUntil } from '../../servers/server-process.ts';
import { createRecorder } from '../serial/recorder.ts';

/** The topics that the fault tests speak on. */
const probes: MqttSubscription[] = [
  { topic: 'room/ph', format: 'number', channel: '' },
  { topic: 'room/rack', format: 'json', channel: 'water.ph', timePath: 'at' },
  { topic: 'room/rack', format: 'json', channel: 'water.t', timePath: 'at' },
  { topic: 'room/senml', format: 'senml', channel: 'tank:t' },
];

/** A reading with its own time, as topic and payload: one without it is not stored where it waited at the broker. */
export function dated(value: string): [topic: string, payload: string] {
  return ['room/rack', JSON.stringify({ at: Date.now(), water: { ph: Number(value) } })];
}

export type Bench = ReturnType<typeof createBench>;

/** An edge with short pauses and everything it hands over. `onAccept` stands for the store. */
export function createBench(
  port: number,
  more: Partial<MqttOptions> = {},
  onAccept?: (observations: Observation[]) => void | Promise<void>,
) {
  const recorder = createRecorder(onAccept);
  const commands: (Message & { text: string })[] = [];
  const edge: MessageLink = createMqttEdge(
    {
      url: `mqtt://127.0.0.1:${port}`,
      protocol: '3.1.1',
      clientId: 'hub-under-test',
      prefix: 'brinekeep',
      commandTopics: ['brinekeep/command/+'],
      backoffMinMs: 50,
      backoffMaxMs: 400,
      // Long: a busy machine that is late with a ping is no broken link. Tests of a frozen broker ask for less.
      keepaliveSeconds: 30,
      ...more,
    },
    probes,
    recorder.sink,
    recorder.listener,
    (message) => {
      commands.push({ ...message, text: message.payload.toString() });
    },
    systemClock,
  );
  return {
    ...recorder,
    edge,
    commands,
    counts: () => edge.state().counts,
    async startedUp() {
      await edge.start();
      await waitUntil('the hub is connected and subscribed', () => edge.state().isUp, {
        explain: () => JSON.stringify(edge.state()),
      });
    },
  };
}

/** Brokers and hubs of one test, and their end. */
export function createRoom() {
  const cleanups: (() => void | Promise<void>)[] = [];
  return {
    cleanups,
    async cleanUp() {
      for (const cleanup of cleanups.splice(0).reverse()) await cleanup();
    },
    async broker(options?: MosquittoOptions): Promise<Mosquitto> {
      const mosquitto = await startMosquitto(options);
      cleanups.push(() => mosquitto.stop());
      return mosquitto;
    },
    hub(...args: Parameters<typeof createBench>): Bench {
      const bench = createBench(...args);
      cleanups.push(() => bench.edge.stop());
      return bench;
    },
  };
}
