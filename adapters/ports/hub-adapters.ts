import type { Reading } from '#rules/quality/reading.ts';
import type { Edge, EdgeListener, Message, MessageLink } from './edge.ts';
import type { HistoryReader } from './history.ts';
import type { Notifier } from './notifier.ts';
import type { ObservationSink } from './observation.ts';
import type { RoomClock } from './room-clock.ts';
import type { ServiceManager } from './service-manager.ts';
import type { OutboxItem, Store } from './store.ts';

/** What a damage took out of the record, as far as it can be told. Times are UTC milliseconds. */
export type Loss = {
  what: 'entries' | 'readings' | 'documents';
  /** Of entries and documents. */
  count?: number;
  /** The last that is there before what is missing, and the first after it; absent at an end of the record. */
  fromMs?: number;
  toMs?: number;
};

export type StoreFault = {
  kind: string;
  detail: string;
  lost?: readonly Loss[];
  /** The damaged file was a backup that somebody had put in the place of the store. */
  wasBackup?: boolean;
};

export type StoreChoice = {
  path: string;
  flushMs: number;
  /** Where nothing can be saved the store lives in memory, and says why; else that is an error. */
  isInAnyCase?: boolean;
  onFault(fault: StoreFault): void;
  /** Long work of its own goes in steps with so long a pause between them; in one go when left out. */
  packPauseMs?: number;
  /** When there is a mirror: the readings of a flush as an item that is stored in the same transaction. */
  mirrorBatch?: (readings: readonly Reading[]) => OutboxItem | undefined;
  /** The newest so many items of a destination are kept, and at most so many bytes. */
  outboxLimit?: { items: number; bytes: number };
};

/** Somebody whom the hub's own broker lets in, and what for. Topics as in MQTT 3.1.1. */
export type BrokerUser = {
  name: string;
  mayPublish(topic: string): boolean;
  maySubscribe(filter: string): boolean;
  mayReceive(topic: string): boolean;
  isPassword(given: string): Promise<boolean>;
  /** As it is kept: another one is another user of the same name. */
  secret?: string | undefined;
};

/** Whom the hub's own broker lets in. */
export type BrokerDoor = {
  /** None: whoever is on this machine may do everything, and nobody else comes in. */
  users: readonly BrokerUser[];
  /** With users: whoever is on this machine and is none of them still needs no password. */
  isOpenToThisMachine: boolean;
};

/** What became of a line to a user: that he has it is known by his acknowledgement alone. */
export type LineTried =
  | 'not_connected'
  | 'not_subscribed'
  | 'without_acknowledgement'
  | 'not_acknowledged'
  | 'received';

/** The broker inside the hub. */
export type OwnBroker = Edge & {
  readonly port: number;
  readonly ownLink: BrokerOwnLink;
  /**
   * Lets others in from now on, at another address. Whoever may stay keeps the connection; the others are cut off.
   *
   * @throws Error  beyond loopback without users
   */
  reopen(door: BrokerDoor & { host: string }): Promise<void>;
  /** Of the clients of a user. */
  connected(user: string, topic: string): { isConnected: boolean; isSubscribed: boolean };
  /** Sends a line to the clients of this user alone, as if it were published to the topic. */
  tryLine(user: string, topic: string, line: string): Promise<LineTried>;
};

/** What the broker did not allow; told for the first of a run and then for each power of ten. */
export type BrokerRefusal = {
  what: 'login' | 'publish' | 'subscribe';
  user: string;
  topic: string;
  times: number;
};

export type BrokerChoice = BrokerDoor & {
  host: string;
  port: number;
  mostClients: number;
  mostMessageBytes: number;
  certFile?: string;
  keyFile?: string;
  onRefused(refusal: BrokerRefusal): void;
  /** Where lasting sessions outlive a restart; absent: they do not. */
  memory?: { load(): string | undefined; save(text: string): void };
  /**
   * Somebody listens again by these filters whom no lasting session kept anything for, after so long; undefined: nobody knows,
   * the broker itself was not there.
   */
  onReturned?(filters: readonly string[], awayMs: number | undefined): void;
};

/** How the hub's own link comes in, beside the users and without TLS, on loopback. */
export type BrokerOwnLink = { port: number; username?: string; password?: string };

/**
 * What others say on the broker, for show alone. Asked for at QoS 0, so that the broker keeps none of it while the hub is
 * away: there it would take the place of readings and commands. `take` must neither wait nor throw.
 */
export type WatchedTopics = {
  /** With wildcards. */
  filters: readonly string[];
  /** Of an older configuration, which the broker may still hold for this hub: given up on every connection. */
  former: readonly string[];
  take(message: Message): void;
};

export type LinkChoice = {
  url: string;
  protocol: '3.1.1' | '5';
  clientId: string;
  username?: string;
  password?: string;
  caFile?: string;
  certFile?: string;
  keyFile?: string;
  /** First levels of the hub's own topics. */
  prefix: string;
  commandTopics: readonly string[];
  watched?: WatchedTopics;
};

export type NotifierParts = {
  topics: { phone: string; escalated: string; week: string; alarm(alarm: string): string };
  /** The hub's own link to its broker; undefined until there is one. */
  link(): MessageLink | undefined;
};

export type Subscription = {
  topic: string;
  format: 'senml' | 'json' | 'number' | 'key_value';
  channel: string;
  timePath?: string;
};

export type SerialChoice = {
  id: string;
  path: string;
  baud: number;
  dataBits: 7 | 8;
  parity: 'none' | 'even' | 'odd';
  stopBits: 1 | 2;
  lineEnd: 'lf' | 'cr' | 'crlf';
  format: 'senml' | 'key_value' | 'csv' | 'number';
  columns: readonly string[];
  separator: ',' | ';' | '\t' | ' ';
};

export type MirrorChoice = {
  url: string;
  api: 'v1' | 'v2';
  org: string;
  bucket: string;
  database: string;
  username?: string;
  token?: string;
  /** For a server that may lose what it has just accepted when it is killed: delivered once more after this time. */
  resendAfterMs?: number;
};

/** The numbers of a SenML pack (RFC 8428), resolved; none when the text is no such pack. Never throws. */
export type ReadSenml = (
  text: string,
  nowMs: number,
) => readonly { channel: string; value: number; unit?: string; statedMs?: number }[];

/** Everything concrete that the hub stands on, as the composition root hands it over. */
export type HubAdapters = {
  clock: RoomClock;
  serviceManager: ServiceManager;
  openStore(choice: StoreChoice): Store;
  createBroker(choice: BrokerChoice, listener: EdgeListener): OwnBroker;
  createLink(
    choice: LinkChoice,
    subscriptions: readonly Subscription[],
    sink: ObservationSink,
    listener: EdgeListener,
    onMessage: (message: Message) => void,
  ): MessageLink;
  /** Ways to people, in the order in which they are told. */
  createNotifiers(parts: NotifierParts): Notifier[];
  createSerial(choice: SerialChoice, sink: ObservationSink, listener: EdgeListener): Edge;
  createMirror(
    choice: MirrorChoice,
    outbox: Pick<Store, 'outbox' | 'acknowledge' | 'park' | 'outboxDepth'>,
    listener: EdgeListener,
  ): Edge;
  /** @param hub  which tells the points of this hub from those of others in one database */
  mirrorBatch(readings: readonly Reading[], hub: string): OutboxItem | undefined;
  /** Reads what hubs have mirrored. */
  createHistory(choice: MirrorChoice): HistoryReader;
  readSenml: ReadSenml;
  /** Cells of one CSV record as a line with its line end. */
  csvLine(cells: readonly (string | number)[]): string;
  /** Whole or not at all, also through a power cut. */
  writeFile(path: string, text: string): Promise<void>;
  /** Over a file that is there: whole where its folder allows it, else in its place, and says why. @throws the error of the file system */
  writeOver(path: string, text: string): string | undefined;
};
