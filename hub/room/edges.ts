import type { EdgeListener, Message } from '#adapters/ports/edge.ts';
import type { ObservationSink } from '#adapters/ports/observation.ts';
import { createLinkMemory } from '../judgement/notices/link-memory.ts';
import { handleMessage } from '../outside/inward/incoming-messages.ts';
import { createRoomEdges, type RoomEdges } from './room-edges.ts';
import type { WholeRoom } from './whole-room.ts';

export type EdgesPart = {
  start(): Promise<void>;
  stop(): Promise<void>;
  /** Of the hub's own broker, once it runs; undefined with an outside one. */
  brokerPort(): number | undefined;
};

/** The edges, joined to the parts that take what comes in by them. */
export function createEdges(room: WholeRoom): EdgesPart {
  const { config, adapters, options, log, now, topics, contained, edges, live, record, readings } = room;
  const { watch, deliveries, report, phone } = room.judges;
  const { entries, outward, livestock } = room.entering;
  const { progress, observer, lifeSigns } = room.upkeep;
  const { fleet, alarms } = room.answering;

  const sink: ObservationSink = {
    accept: (observations) =>
      contained.run('pipeline', () => {
        progress.entered();
        observer.measure(observations, () => readings.pipeline.accept(observations, now()));
        progress.left();
      }),
    reject: readings.rejects.count,
  };

  // Of the hub's own broker each client's return is told.
  const linkMemory = createLinkMemory(record.store, () => watch.sayAgain(config.mqtt.url !== undefined));

  const listener: EdgeListener = (change) => {
    if (change.isUp) log.info({ edge: change.name }, change.detail);
    else log.warn({ edge: change.name }, change.detail);
    report(change.name, change.isUp, change.detail);
    if (change.name === 'mqtt') {
      if (change.isUp) brokerIsBack(change.hasForgotten === true);
      else contained.run('notices', () => linkMemory.leaves());
    }
    live.changed();
  };

  function brokerIsBack(hasForgotten: boolean): void {
    deliveries.nudge();
    contained.run('notices', () => watch.look(now()));
    contained.run('notices', () => linkMemory.found(hasForgotten));
    contained.run('heartbeat', () => lifeSigns.beat());
    fleet.introduce(edges.link());
    outward.again();
  }

  function listensAgain(filters: readonly string[], awayMs: number | undefined): void {
    if (filters.some((filter) => filter === topics.phone || /[+#]/.test(filter)))
      contained.run('notices', () => watch.owe(awayMs === undefined ? 0 : now() - awayMs, now()));
  }

  function take(message: Message): void {
    const { answer, refused } = phone;
    contained.run('messages', () => {
      handleMessage(
        {
          config,
          topics,
          entries,
          nowMs: now,
          command: alarms.fromPhone,
          arrival: livestock.fromPhone,
          answer,
          refused,
        },
        message,
      );
      live.changed();
    });
  }

  let made: RoomEdges | undefined;
  return {
    async start() {
      made = await createRoomEdges({
        config,
        adapters,
        secrets: options.secrets,
        store: record.store,
        log,
        watched: fleet.watched,
        sink,
        listener,
        onReturned: listensAgain,
        onMessage: take,
      });
      edges.show(made);
      contained.run('notices', () => linkMemory.leaves());
      await made.start();
    },
    async stop() {
      await made?.stop();
    },
    brokerPort: () => made?.broker?.port,
  };
}
