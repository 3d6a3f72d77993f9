import { existsSync, mkdirSync, renameSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { countWords, differenceFrom, draftFromFile } from '../import/import-record.ts';
import { isPhotoName, writeSynced } from '../judgement/pieces/photo-files.ts';
import type { Config } from '../model/config/schema.ts';
import { Refused } from '../model/refusals/refused.ts';
import type { Terminal } from './terminal.ts';
import type { VerbAdapters } from './verb-adapters.ts';

const nothingThere = Symbol('an empty store');

type Asked = { isDryRun: boolean; isReplace: boolean };

/**
 * Takes a whole record into an empty data folder. A store that has all of it already stays as it is; one with a record of its
 * own is refused, or moved aside when that is asked for.
 *
 * Is: nothing of a file that is not sound is taken, and the former store and photos stand until all is on disk.
 * Is not: mixing two records. Entries name each other by number, and those of two hubs have the same ones.
 *
 * @throws Refused not_done
 */
export async function importWhole(
  path: string,
  config: Config,
  { isDryRun, isReplace }: Asked,
  adapters: VerbAdapters,
  terminal: Terminal,
): Promise<void> {
  const storePath = join(config.data_dir, 'brinekeep.db');
  if (existsSync(storePath) && !isReplace) {
    const difference = await differenceFromStore(path, storePath, config, adapters, terminal);
    if (difference === undefined) {
      terminal.print(`${path}: all of it is already in the store`);
      return;
    }
    if (difference !== nothingThere)
      throw new Refused(
        'not_done',
        `${storePath} has a record of its own: ${difference}. A whole record goes into an empty data_dir; with --replace the present store and photos are moved aside first`,
      );
  }
  await takeIn(path, storePath, config, isDryRun, adapters, terminal);
}

async function differenceFromStore(
  path: string,
  storePath: string,
  config: Config,
  { hub }: VerbAdapters,
  terminal: Terminal,
): Promise<string | typeof nothingThere | undefined> {
  const flushMs = config.flush_seconds * 1000;
  const onFault = ({ detail }: { detail: string }) => terminal.complain(detail);
  const store = hub.openStore({ path: storePath, flushMs, onFault });
  try {
    const isEmpty = store.series().length === 0 && store.journal({ history: true, limit: 1 }).length === 0;
    return isEmpty ? nothingThere : await differenceFrom(path, store);
  } finally {
    store.close();
  }
}

async function takeIn(
  path: string,
  storePath: string,
  config: Config,
  isDryRun: boolean,
  { records }: VerbAdapters,
  terminal: Terminal,
): Promise<void> {
  const photos = join(config.data_dir, 'photos');
  const newPhotos = `${photos}.importing`;
  rmSync(newPhotos, { recursive: true, force: true });
  const draft = records.draft(storePath);
  let isTaken = false;
  try {
    mkdirSync(newPhotos, { recursive: true });
    const { counts, systems } = await draftFromFile(path, draft, async (name, bytes) => {
      if (!isPhotoName(name))
        throw new Refused('not_done', `${path}: "${name.slice(0, 60)}" is not the name of a photo`);
      await writeSynced(join(newPhotos, name), bytes);
    });
    const known = new Set(config.systems.map(({ id }) => id));
    const strange = [...systems].filter((id) => !known.has(id)).sort();
    if (strange.length > 0)
      terminal.complain(
        `the configuration has no system ${strange.map((id) => `"${id}"`).join(', ')}: its readings are kept but not shown`,
      );
    if (isDryRun) {
      terminal.print(`${path}: would import ${countWords(counts)}`);
      return;
    }
    // The photos first: a store that names photos which are not there would be worse than the other way round.
    const photosAside = existsSync(photos) ? freeName(`${photos}.replaced`) : undefined;
    if (photosAside !== undefined) renameSync(photos, photosAside);
    renameSync(newPhotos, photos);
    let aside: string | undefined;
    try {
      aside = draft.finish();
    } catch (error) {
      renameSync(photos, newPhotos);
      if (photosAside !== undefined) renameSync(photosAside, photos);
      throw error;
    }
    isTaken = true;
    terminal.print(`${path}: imported ${countWords(counts)}`);
    for (const former of [aside, photosAside])
      if (former !== undefined) terminal.print(`what was there before is kept as ${former}`);
  } finally {
    if (!isTaken) draft.discard();
    rmSync(newPhotos, { recursive: true, force: true });
  }
}

function freeName(name: string): string {
  let free = name;
  for (let again = 2; existsSync(free); again += 1) free = `${name}-${again}`;
  return free;
}
