import type { Readable, Writable } from 'node:stream';
import { withoutHidden } from '../model/refusals/hidden-characters.ts';

/** The three streams of a verb, so that a test can own them. */
export type Terminal = {
  input: Readable;
  output: Writable;
  /** A line on standard output. */
  print(line: string): void;
  /** A line on standard error. */
  complain(line: string): void;
};

export const processTerminal: Terminal = {
  input: process.stdin,
  output: process.stdout,
  print: (line) => void process.stdout.write(`${withoutHidden(line)}\n`),
  complain: (line) => void process.stderr.write(`${withoutHidden(line)}\n`),
};
