import { useState } from 'preact/hooks';
import type { SystemView } from '../../../api/room.ts';
import { EntryForm } from './entry-form.tsx';
import { type EntryKind, entryKinds, kindWords } from './entry-kinds.ts';

/** The three things that people enter by hand; one form is open at a time. */
export function EntryPanel({ system }: { system: SystemView }) {
  const [open, setOpen] = useState<EntryKind | undefined>(undefined);
  return (
    <div class="entry">
      <div class="entry-kinds">
        <span aria-hidden="true">Log a</span>
        {entryKinds.map((kind) => (
          <button
            key={kind}
            type="button"
            aria-expanded={open === kind}
            onClick={() => setOpen(open === kind ? undefined : kind)}
          >
            <span class="visually-hidden">Log a </span>
            <b>{kindWords[kind].thing}</b>
          </button>
        ))}
        <a class="entry-log" href={`#/log/${encodeURIComponent(system.id)}`}>
          All entries<span class="visually-hidden"> of {system.name}</span>
        </a>
      </div>
      {open !== undefined && <EntryForm key={open} system={system} kind={open} />}
    </div>
  );
}
