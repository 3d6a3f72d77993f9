import { openStore } from '#adapters/sqlite/open-store.ts';
import { sayAtOnce } from './say-at-once.ts';
import { temperature } from './series.ts';

/** Adds 1 to each reading of the record, from where it was left, again and again until it is killed. */
const [path = '', fromText = '0', toText = '0'] = process.argv.slice(2);
const clock = { nowMs: () => Date.now(), monotonicMs: () => performance.now() };
const store = openStore({ path, flushMs: 3_600_000, clock });
for (;;) {
  const done = JSON.parse(store.document('done') ?? `{"rounds": 0, "reachedMs": ${fromText}}`) as {
    rounds: number;
    reachedMs: number;
  };
  store.rewrite(
    temperature,
    done.reachedMs,
    Number(toText),
    (_timeMs, value) => ({ value: value + 1, flag: 'pass' }),
    (reachedMs) => {
      const isWhole = reachedMs === Number(toText);
      const next = isWhole
        ? { rounds: done.rounds + 1, reachedMs: Number(fromText) }
        : { rounds: done.rounds, reachedMs };
      return { documents: [{ name: 'done', body: JSON.stringify(next) }] };
    },
  );
  sayAtOnce(`${done.rounds + 1}\n`);
}
