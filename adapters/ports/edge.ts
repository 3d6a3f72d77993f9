/** A connection to the outside that comes and goes: a serial port, a broker, a time-series server. */
export type EdgeState = {
  name: string;
  isUp: boolean;
  /** UTC milliseconds of the last thing that worked; absent when nothing ever did. */
  lastSuccessMs?: number;
  /** In one sentence, while it is down. */
  lastError?: string;
  counts: Record<string, number>;
  /** What goes wrong although it is up, in a sentence: somebody is turned away, or floods. */
  trouble?: string;
};

export type Edge = {
  start(): Promise<void>;
  stop(): Promise<void>;
  state(): EdgeState;
};

/** Where an adapter tells of a change of state; the hub turns it into log lines and rule evidence. */
export type EdgeListener = (change: {
  name: string;
  isUp: boolean;
  detail: string;
  atMs: number;
  /** The other side is up and knows nothing of what it was told before. */
  hasForgotten?: boolean;
}) => void;

export type Message = { topic: string; payload: Buffer; isRetained: boolean };

/** The link to the broker, as the hub sees it. `publish` resolves on the broker's acknowledgement, rejects when it is away. */
export type MessageLink = Edge & {
  publish(topic: string, payload: string | Buffer, options: { retain: boolean }): Promise<void>;
  /** The broker answers no more: breaks the connection off and makes another. */
  reconnect(why: string): void;
};

/** The rest of the process reads time through this, so that a replay or a test can own it. */
export type Clock = {
  /** UTC milliseconds. */
  nowMs(): number;
  /** Milliseconds that never step, from an arbitrary start. */
  monotonicMs(): number;
  /** Names that start: under the same name `monotonicMs` runs on over restarts of the process. Absent where nobody knows. */
  readonly bootId?: string | undefined;
};
