import type { DecodeContext } from '../decoders/decoder.ts';
import type { DecoderName } from '../decoders/registry.ts';

/** One serial port. Where a limit is absent, `serialDefaults` holds. */
export type SerialPortOptions = {
  id: string;
  /** A stable path, such as one below /dev/serial/by-id: it is looked up again at every opening. */
  path: string;
  baud: number;
  dataBits: 7 | 8;
  parity: 'none' | 'even' | 'odd';
  stopBits: 1 | 2;
  lineEnd: 'lf' | 'cr' | 'crlf';
  format: Exclude<DecoderName, 'json'>;
  /** For `csv`: the channel of each column, in order; `-` skips one. */
  columns?: readonly string[];
  separator?: NonNullable<DecodeContext['separator']>;
  mostLineBytes?: number;
  noLineEndBytes?: number;
  mostGapMs?: number;
  mostLinesPerSecond?: number;
  mostUnstored?: number;
  reopenMinMs?: number;
  reopenMaxMs?: number;
};

export const serialDefaults = {
  /** A longer line is skipped and counted. */
  mostLineBytes: 256,
  /** So many bytes without a line end mean a wrong speed or line end. */
  noLineEndBytes: 4096,
  /** Silence inside a line, milliseconds: the probe lost power there, and what follows is another line. */
  mostGapMs: 2000,
  /** Far above what 115,200 baud carries in sensible lines; more is counted and dropped. */
  mostLinesPerSecond: 1000,
  /** Lines handed to the sink and not yet stored. At the limit further lines are counted as `too_many` and dropped. */
  mostUnstored: 20_000,
  reopenMinMs: 500,
  reopenMaxMs: 10_000,
} as const;
