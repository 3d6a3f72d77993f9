/**
 * What an adapter makes of one number on the wire, before anybody knows which probe it is.
 * `channel` is the name inside the payload (SenML name, key, column, path); empty for a bare number.
 */
export type Observation = {
  /** `serial:<port id>` or `mqtt:<topic>`. */
  source: string;
  channel: string;
  value: number;
  /** As the payload states it; absent when it does not. */
  unit?: string;
  /** The payload's own time, UTC milliseconds, when it carries one. */
  statedMs?: number;
  /** Wall clock of the hub at arrival, UTC milliseconds. */
  receivedMs: number;
  /** True for a retained MQTT message: it shows a last value and never proves that a probe lives. */
  isRetained?: boolean;
};

/** Why bytes did not become an observation. The closed list is the vocabulary of counters and of the health page. */
export type RejectReason =
  | 'too_long'
  | 'not_text'
  | 'partial'
  | 'no_line_end'
  | 'malformed'
  | 'not_finite'
  | 'unknown_channel'
  | 'too_many'
  /** A reading without its own time that waited at the broker: its arrival does not date it. */
  | 'waited_undated';

export type Reject = { source: string; reason: RejectReason; found: string; receivedMs: number };

export type ObservationSink = {
  /** May wait for the store: an MQTT acknowledgement follows the returned promise. */
  accept(observations: Observation[]): void | Promise<void>;
  reject(reject: Reject): void;
};
