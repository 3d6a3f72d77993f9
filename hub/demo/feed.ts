import mqtt, { type MqttClient } from 'mqtt';
import type { Clock } from '#adapters/ports/edge.ts';
import type { Given } from './keepers-day.ts';
import type { PtyLine } from './pty-line.ts';
import type { DemoRoom } from './reef-system.ts';
import { type ProbeReading, readProbes } from './room.ts';
import { openingOf, type Play, stepPlay, usualSpeed } from './script.ts';
import type { Random } from './seeded-random.ts';
import { boardLine, overNoisyCable, senmlPack, topics } from './wire-format.ts';

export type FeedOptions = {
  /** The room as the history left it. */
  room: DemoRoom;
  random: Random;
  clock: Clock;
  brokerUrl: string;
  /** Absent where no pseudo-terminal can be made: the display's board then speaks over MQTT. */
  line?: PtyLine | undefined;
  /** Simulated seconds of a hurried water for each real second. */
  speed?: number;
  /** Tells the person at the terminal what happens in the room. */
  say: (text: string) => void;
  /** Enters a hand test, a dose or a water change as a keeper would. */
  enter: (given: Given) => void | Promise<void>;
};

export type Feed = {
  /** Lines and messages sent so far, and what found no way: no broker, or a terminal that nobody reads. */
  counts(): { lines: number; messages: number; unsent: number };
  room(): DemoRoom;
  /** Ends the timer and the link to the broker, and the line that was given. */
  stop(): Promise<void>;
};

const tickMs = 1000;
const boardEveryTicks = 2;
const messagesEveryTicks = 5;

/** After a pause of the whole machine the room takes up where it was, rather than living hours in one step. */
const longestTickS = 5;

/**
 * Plays the script and feeds the hub through its real inputs: the display's board over the serial line, the grow-out as
 * SenML packs and the quarantine as plain numbers over MQTT. Readings are sent only while the broker is there; none wait.
 */
export function startFeed(options: FeedOptions): Feed {
  const { clock, random, line, say, speed = usualSpeed } = options;
  const client = connect(options.brokerUrl);
  const counts = { lines: 0, messages: 0, unsent: 0 };
  let play: Play = openingOf(options.room);
  let lastMs = clock.monotonicMs();
  let ticks = 0;

  const publish = (topic: string, payload: string): void => {
    if (!client.connected) {
      counts.unsent += 1;
      return;
    }
    client.publish(topic, payload, { qos: 1 }, (error) => {
      if (error) counts.unsent += 1;
      else counts.messages += 1;
    });
  };

  const enter = async (given: Given): Promise<void> => {
    const { kind, entry } = given;
    if (kind === 'test') say(`${entry.system}: the keeper tests ${entry.analyte}: ${entry.value} ${entry.unit ?? ''}`);
    try {
      await options.enter(given);
    } catch (error) {
      say(`${entry.system}: the entry was not taken: ${error instanceof Error ? error.message : String(error)}`);
    }
  };

  const tick = (): void => {
    const nowMs = clock.monotonicMs();
    const seconds = Math.min((nowMs - lastMs) / 1000, longestTickS);
    lastMs = nowMs;
    const next = stepPlay(play, seconds, speed, random);
    // Lamps and air follow the wall clock even when the ticks do not.
    play = { ...next.play, room: { ...next.play.room, timeMs: clock.nowMs() } };
    for (const event of next.events) {
      if (event.kind === 'said') say(`${event.system}: ${event.text}`);
      else void enter(event.given);
    }
    send(readProbes(play.room, random), ticks);
    ticks += 1;
  };

  const send = (readings: readonly ProbeReading[], ticksSoFar: number): void => {
    const of = (system: string) => readings.filter((reading) => reading.system === system);
    if (ticksSoFar % boardEveryTicks === 0) {
      const text = boardLine(of('display'));
      if (line === undefined) publish(topics.displayBoard, text);
      else {
        line.write(overNoisyCable(text, random));
        counts.lines += 1;
      }
    }
    if (ticksSoFar % messagesEveryTicks !== 0) return;
    publish(topics.growoutPack, senmlPack('growout', of('growout')));
    for (const { metric, value } of of('quarantine')) {
      if (metric === 'temperature' || metric === 'conductivity') publish(topics.quarantine[metric], value.toFixed(2));
    }
  };

  const timer = setInterval(tick, tickMs);
  return {
    counts: () => ({ ...counts, unsent: counts.unsent + (line?.dropped() ?? 0) }),
    room: () => play.room,
    async stop() {
      clearInterval(timer);
      await Promise.all([client.endAsync(true), line?.stop()]);
    },
  };
}

function connect(brokerUrl: string): MqttClient {
  const client = mqtt.connect(brokerUrl, {
    clientId: `brinekeep-demo-${process.pid}`,
    reconnectPeriod: 1000,
    reconnectOnConnackError: true,
    queueQoSZero: false,
  });
  // The hub tells of a broker that is away; here it only means that readings are not sent.
  client.on('error', () => {});
  return client;
}
