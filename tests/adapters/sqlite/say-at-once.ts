import { writeSync } from 'node:fs';

/** A line on standard output, in the pipe when this returns: whoever is killed right after has said it. A full pipe is waited for. */
export function sayAtOnce(line: string): void {
  for (;;) {
    try {
      writeSync(1, line);
      return;
    } catch (error) {
      if ((error as NodeJS.ErrnoException).code !== 'EAGAIN') throw error;
    }
  }
}
