import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { countWords } from '../import/import-record.ts';
import { countPart, headerLine, type LinePart, noCounts, recordLine } from '../import/record-lines.ts';
import { photoNamesIn } from '../judgement/pieces/photo-files.ts';
import type { Config } from '../model/config/schema.ts';
import { version } from '../version.ts';
import { onCopyOfStore } from './copy-of-store.ts';
import type { Terminal } from './terminal.ts';
import type { VerbAdapters } from './verb-adapters.ts';

/**
 * Writes the whole record to standard output, line by line, from a checked copy of the store. deploy/docs/whole-record.md
 * describes the lines.
 *
 * Is not: the configuration, passwords, what waits to be sent, or readings younger than the last flush of a running hub.
 */
export async function exportRecord(config: Config, adapters: VerbAdapters, terminal: Terminal): Promise<void> {
  const { tables, records } = adapters;
  const counts = noCounts();
  const put = (part: LinePart): Promise<void> => {
    countPart(counts, part);
    return tables.write(terminal.output, recordLine(part));
  };
  await onCopyOfStore(config, adapters, terminal, async (copy) => {
    await tables.write(terminal.output, headerLine(version));
    const leftOut = (sentence: string) => {
      terminal.complain(sentence);
      process.exitCode = 1;
    };
    for (const part of records.read(copy, leftOut)) await put(part);
  });
  const photos = join(config.data_dir, 'photos');
  for (const name of await photoNamesIn(photos))
    await put({ part: 'photo', name, bytes: await readFile(join(photos, name)) });
  await put({ part: 'end', counts });
  terminal.complain(countWords(counts));
}
