import { createHash } from 'node:crypto';
import type { Store } from '#adapters/ports/store.ts';
import type { Config } from '../config/schema.ts';
import { Refused } from '../refusals/refused.ts';
import { changedText, type DifferenceLine, differenceOf } from './config-change.ts';
import type { ConfigChange } from './config-change-schema.ts';
import type { ConfigFile } from './config-file.ts';

const documentName = 'configuration_changes';
/** Further back nobody goes by the page; the journal has a note of each. */
const mostKept = 20;

type Kept = { timeMs: number; by: string; before: string; after: string };

export type Preview = { difference: DifferenceLine[]; warnings: string[] };

export type Edited = { config: Config; difference: DifferenceLine[]; warnings: string[] };

export type ConfigChanges = {
  /** The file as it is now: what it says, and by which sign a later change knows that it is still the same. */
  now(): { config: Config; seen: string } | undefined;
  /** What would become of the file, checked in whole. */
  preview(changes: readonly ConfigChange[], seen: string): Preview;
  /** Writes the change; the hub then starts again with it. */
  change(changes: readonly ConfigChange[], seen: string, by: string, nowMs: number): void;
  /**
   * Writes what the hub changes itself and then works by, without a new start.
   *
   * @throws Refused  also when the file is another than the hub works by: a new start would bring more than this change
   */
  edit(edited: (text: string) => string, words: string, by: string, nowMs: number): Edited;
  /** The last change that the page made, while the file is still as it left it. */
  lastChange(): { timeMs: number; by: string } | undefined;
  /** Back to the text before the last change. */
  goBack(seen: string, by: string, nowMs: number): void;
};

export type ConfigChangesParts = {
  file: ConfigFile;
  store: Pick<Store, 'commit' | 'document'>;
};

/**
 * Where the page changes the configuration file. The file stays the truth: it is read again, a checked change is written into
 * it, and the hub starts again with it.
 *
 * Is: refused when the file is another than the page has seen, or when the hub would not start with the change; the old text is
 * in the store before the file is touched. Is not: for anything but the keys of `config-change-schema.ts` and what `broker-change.ts` does.
 */
export function createConfigChanges({ file, store }: ConfigChangesParts): ConfigChanges {
  function textNow(seen: string): string {
    const text = file.text();
    if (text === undefined) throw new Refused('not_stored', `${file.path} cannot be read`);
    if (signOf(text) !== seen)
      throw new Refused('changed_meanwhile', 'the file was changed meanwhile: look at it again, then change it');
    return text;
  }

  function checked(text: string, changes: readonly ConfigChange[]): { after: string; warnings: string[] } {
    const after = changedText(text, changes);
    const loaded = file.check(after);
    if (!loaded.ok) throw new Refused('out_of_range', loaded.problems.map((problem) => problem.text).join('\n'));
    return { after, warnings: loaded.warnings };
  }

  function write(kept: readonly Kept[], entry: Kept, note: string, isTaken = false): void {
    store.commit({
      // Before the file: where it is written in its place and a power cut tears it, it is here in whole.
      documents: [{ name: documentName, body: JSON.stringify(kept.slice(-mostKept)) }],
      entries: [
        {
          kind: 'note',
          timeMs: entry.timeMs,
          recordedMs: entry.timeMs,
          system: '',
          body: { note, about: 'configuration', by: entry.by },
        },
      ],
    });
    try {
      file.write(entry.after);
    } catch (error) {
      const why = error instanceof Error ? error.message : String(error);
      throw new Refused('not_stored', `${file.path} could not be written and is as it was: ${why}`);
    }
    if (isTaken) file.took(entry.after);
    else file.startAgain?.();
  }

  function keptChanges(): Kept[] {
    try {
      const found: unknown = JSON.parse(store.document(documentName) ?? '[]');
      return Array.isArray(found) ? (found as Kept[]) : [];
    } catch {
      return [];
    }
  }

  function undoable(): Kept | undefined {
    const last = keptChanges().at(-1);
    return last !== undefined && last.after === file.text() ? last : undefined;
  }

  return {
    now() {
      const text = file.text();
      const loaded = text === undefined ? undefined : file.check(text);
      return text === undefined || loaded?.ok !== true ? undefined : { config: loaded.config, seen: signOf(text) };
    },
    preview(changes, seen) {
      const text = textNow(seen);
      const { after, warnings } = checked(text, changes);
      return { difference: differenceOf(text, after), warnings };
    },
    change(changes, seen, by, nowMs) {
      const before = textNow(seen);
      const { after } = checked(before, changes);
      if (after === before) return;
      const entry = { timeMs: nowMs, by, before, after };
      const words = changes.map(({ path, value }) => `${path}: ${value ?? 'taken out'}`).join('; ');
      write([...keptChanges(), entry], entry, `configuration changed on the page: ${words}`);
    },
    edit(edited, words, by, nowMs) {
      const before = file.text();
      if (before === undefined) throw new Refused('not_stored', `${file.path} cannot be read`);
      if (file.look().state !== 'as_started')
        throw new Refused(
          'changed_meanwhile',
          `${file.path} was changed since the hub started: start the hub again first`,
        );
      const after = edited(before);
      const loaded = file.check(after);
      if (!loaded.ok) throw new Refused('out_of_range', loaded.problems.map((problem) => problem.text).join('\n'));
      const { config, warnings } = loaded;
      const entry = { timeMs: nowMs, by, before, after };
      if (after !== before) write([...keptChanges(), entry], entry, words, true);
      return { config, warnings, difference: differenceOf(before, after) };
    },
    lastChange() {
      const last = undoable();
      return last === undefined ? undefined : { timeMs: last.timeMs, by: last.by };
    },
    goBack(seen, by, nowMs) {
      textNow(seen);
      const last = undoable();
      if (last === undefined) throw new Refused('changed_meanwhile', 'there is no change of the page to go back from');
      checked(last.before, []);
      const entry = { timeMs: nowMs, by, before: last.after, after: last.before };
      write(keptChanges().slice(0, -1), entry, 'configuration: back to what it was before the last change on the page');
    },
  };
}

function signOf(text: string): string {
  return createHash('sha256').update(text).digest('hex');
}
