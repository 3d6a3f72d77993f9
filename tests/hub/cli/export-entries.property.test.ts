import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { expect, test, vi } from 'vitest';
import { systemClock } from '#adapters/clock/system-clock.ts';
import { openStore } from '#adapters/sqlite/open-store.ts';
import { type Entry, readJournal, written } from '#hub/model/journal/journal.ts';
import { freePort } from '../../servers/free-port.ts';
import { roomText, scratchRoom } from '../../servers/hub-process.ts';
import { patience } from '../../servers/server-process.ts';
import { verbHere } from './verb-here.ts';

vi.setConfig({ testTimeout: 300_000 * patience() });

const startMs = Date.UTC(2026, 0, 1);
const systems = [
  {
    ...{ id: 'display', name: 'Display', volume_l: 420, bands: { alkalinity: { low: 7.5, high: 9 } } },
    stocks: [{ id: 'alk', name: 'Soda', substance: 'sodium_carbonate', grams_per_litre: 106 }],
  },
];

const note = fc.option(fc.constantFrom('after the change', 'a, "quoted"; note', 'Kalk süß'), { nil: undefined });
/** Minutes apart, so that no two rows are the same to the import. */
const tests = fc.array(
  fc.record({
    value: fc.double({ min: 5, max: 12, noNaN: true }),
    sd: fc.option(fc.double({ min: 0.01, max: 1, noNaN: true }), { nil: undefined }),
    note,
  }),
  { minLength: 1, maxLength: 5 },
);
const doses = fc.array(
  fc.record({ ml: fc.double({ min: 0.01, max: 500, noNaN: true }), isGrams: fc.boolean(), note }),
  { minLength: 1, maxLength: 5 },
);

function storeIn(dir: string) {
  return openStore({ path: join(dir, 'data', 'brinekeep.db'), flushMs: 1000, onFault: () => {}, clock: systemClock });
}

async function room() {
  const scratch = scratchRoom();
  const path = join(scratch.dir, 'room.yaml');
  writeFileSync(path, roomText(scratch.dir, { systems, http: { port: await freePort() } }));
  return { ...scratch, path };
}

const bare = <Each extends { note?: string | undefined }>(given: Each) => JSON.parse(JSON.stringify(given)) as Each;

test('a test or a dose is lost, or is another one, in the hub that imports what was exported', async () => {
  await fc.assert(
    fc.asyncProperty(tests, doses, async (givenTests, givenDoses) => {
      const [from, to] = [await room(), await room()];
      try {
        const store = storeIn(from.dir);
        const common = (index: number) => {
          const timeMs = startMs + index * 40 * 86_400_000 + index * 60_000;
          return { timeMs, recordedMs: timeMs, system: 'display' };
        };
        store.commit({
          entries: [
            ...givenTests.map(({ value, ...more }, index) =>
              written({
                ...{ kind: 'test', ...common(index) },
                body: bare({ analyte: 'alkalinity' as const, value, given_value: value, given_unit: 'dKH', ...more }),
              }),
            ),
            ...givenDoses.map(({ ml, isGrams, note: said }, index) =>
              written({
                ...{ kind: 'dose', ...common(index) },
                body: bare(
                  isGrams
                    ? { substance: 'sodium_bicarbonate', grams: ml, note: said }
                    : { stock: 'alk', ml, note: said },
                ),
              }),
            ),
          ],
        });
        // What was taken back is not of the record that counts.
        const [id = 0] = store.commit({
          entries: [written({ kind: 'dose', ...common(99), body: { stock: 'alk', ml: 5 } })],
        });
        store.commit({
          entries: [
            {
              ...written({ kind: 'dose', ...common(99), body: { stock: 'alk', ml: 5 } }),
              corrects: id,
              isWithdrawn: true,
            },
          ],
        });
        store.close();
        for (const kind of ['tests', 'doses'] as const) {
          const out = await verbHere(['export', from.path, `--${kind}`]);
          expect({ code: out.code, rows: out.err }).toEqual({
            code: 0,
            rows: `${kind === 'tests' ? givenTests.length : givenDoses.length} ${kind}\n`,
          });
          const file = join(to.dir, `${kind}.csv`);
          writeFileSync(file, out.out);
          const taken = await verbHere(['import', '--config', to.path, '--as', kind, file]);
          expect(taken.code, taken.out + taken.err).toBe(0);
        }
        const [old, fresh] = [storeIn(from.dir), storeIn(to.dir)];
        const facts = ({ kind, timeMs, system, body: { by: _by, ...body } }: Entry<'test' | 'dose'>) => ({
          ...{ kind, timeMs, system, body },
        });
        for (const kind of ['test', 'dose'] as const)
          expect(readJournal(fresh, { kind }).map(facts)).toEqual(readJournal(old, { kind }).map(facts));
        old.close();
        fresh.close();
      } finally {
        from.remove();
        to.remove();
      }
    }),
    { numRuns: 3, endOnFailure: true },
  );
});
