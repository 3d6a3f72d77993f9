import type { FirstLook } from '#adapters/ports/first-look.ts';
import type { HubAdapters } from '#adapters/ports/hub-adapters.ts';
import type { ReadingsFiles } from '#adapters/ports/readings-files.ts';
import type { Tables } from '#adapters/ports/tables.ts';
import type { WholeRecords } from '#adapters/ports/whole-record.ts';

/** The concrete parts that the verbs use, as the composition root hands them over. */
export type VerbAdapters = {
  hub: HubAdapters;
  tables: Tables;
  readings: ReadingsFiles;
  /** @returns values of the store itself that a flipped bit has changed, one sentence each */
  backupStore(storePath: string, backupPath: string): Promise<string[]>;
  /** @returns where the former store stands, when there was one */
  restoreStore(backupPath: string, storePath: string): Promise<string | undefined>;
  records: WholeRecords;
  /** What is heard before there is a configuration. */
  firstLook: FirstLook;
  /** One line for each serial port of this machine. */
  listPorts(print: (line: string) => void): Promise<void>;
};
