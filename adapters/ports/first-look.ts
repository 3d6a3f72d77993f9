/** What a machine hears before it has a configuration. */

/** One number heard under one name: the last value, and how to configure where it came from. */
export type Heard = {
  /** SenML name, key, dotted JSON path; empty for a bare number. */
  channel: string;
  value: number;
  /** As the payload states it. */
  unit?: string;
  /** Between two of them, seconds; absent when only one came. */
  everySeconds?: number;
};

export type HeardPort = {
  /** The stable path where there is one. */
  path: string;
  device: string;
  maker?: string;
  /** Absent when nothing readable was heard. */
  speech?: {
    baud: number;
    lineEnd: 'lf' | 'cr';
    format: 'senml' | 'key_value' | 'number' | 'csv';
    /** For `csv`. */
    separator?: ',' | ';' | 'tab' | 'space';
    /** For `csv`; the channels are called c1, c2 and so on by their column. */
    columnCount?: number;
    heard: Heard[];
  };
  /** Why there is no speech, in a sentence. */
  silence?: string;
};

export type HeardTopic = { topic: string; format: 'senml' | 'json' | 'number' | 'key_value'; heard: Heard[] };

export type BrokerToHear = { url: string; username?: string; password?: string; ca?: Buffer };

export type FirstLook = {
  /** The serial ports of this machine; those of `only` when given. */
  ports(only?: readonly string[]): Promise<Pick<HeardPort, 'path' | 'device' | 'maker'>[]>;
  /** Listens at each common speed in turn until lines can be read. Nothing is written to the port. */
  hearPort(port: Pick<HeardPort, 'path' | 'device' | 'maker'>, secondsForEachSpeed: number): Promise<HeardPort>;
  /** @throws Error  in words, when the broker cannot be reached or refuses */
  hearBroker(broker: BrokerToHear, seconds: number): Promise<HeardTopic[]>;
};
