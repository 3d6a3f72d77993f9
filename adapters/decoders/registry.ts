import { decodeBareNumber } from './bare-number.ts';
import { decodeCsvLine } from './csv-line.ts';
import type { Decoder } from './decoder.ts';
import { decodeJsonPaths } from './json-path.ts';
import { decodeKeyValue } from './key-value.ts';
import { decodeSenml } from './senml.ts';

/**
 * Every decoder by the name that a configuration gives it. To add one: copy `bare-number.ts`, keep the promises of
 * `Decoder`, name it here; the fuzz test takes it up by itself. Then allow the name in the configuration.
 */
export const decoders = {
  number: decodeBareNumber,
  key_value: decodeKeyValue,
  csv: decodeCsvLine,
  senml: decodeSenml,
  json: decodeJsonPaths,
} as const satisfies Record<string, Decoder>;

export type DecoderName = keyof typeof decoders;
