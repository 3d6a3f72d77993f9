import { expect, test } from 'vitest';
import { createLinkMemory } from '#hub/judgement/notices/link-memory.ts';

/** What lasts over a kill, and a hub that may die at any write. */
function setUp() {
  const disk = new Map<string, string>();
  let writesLeft = Number.POSITIVE_INFINITY;
  let said = 0;
  const store = {
    document: (name: string) => disk.get(name),
    commit: ({ documents = [] }: { documents?: { name: string; body: string }[] }) => {
      if (writesLeft <= 0) throw new Error('killed');
      writesLeft -= 1;
      for (const { name, body } of documents) disk.set(name, body);
      return [];
    },
  };
  return {
    disk,
    said: () => said,
    dieAfterWrites: (count: number) => {
      writesLeft = count;
    },
    /** @param isKilled  in the midst of saying it again */
    startProcess: (isKilled = false) =>
      createLinkMemory(store, () => {
        if (isKilled) throw new Error('killed');
        said += 1;
      }),
    goOn: () => {
      writesLeft = Number.POSITIVE_INFINITY;
    },
  };
}

test('a hub dies after it saw that the broker lost all, and its next start finds its own new session there and says nothing', () => {
  const room = setUp();
  const dying = room.startProcess(true);
  dying.leaves();
  expect(() => dying.found(true)).toThrow('killed');
  const next = room.startProcess();
  next.leaves();
  next.found(false);
  expect(room.said()).toBe(1);
  // And once is enough.
  next.leaves();
  next.found(false);
  const third = room.startProcess();
  third.leaves();
  third.found(false);
  expect(room.said()).toBe(1);
});

test('what was said again and not yet noted is lost at a kill, when it must be repeated', () => {
  const room = setUp();
  const dying = room.startProcess();
  dying.leaves();
  room.dieAfterWrites(0);
  expect(() => dying.found(true)).toThrow('killed');
  room.goOn();
  const next = room.startProcess();
  next.found(false);
  expect(room.said()).toBe(2);
});

test('each start repeats all lines to a broker that lost nothing', () => {
  const room = setUp();
  for (let start = 0; start < 3; start += 1) {
    const process = room.startProcess();
    process.leaves();
    process.found(false);
  }
  expect(room.said()).toBe(0);
});

test('a damaged note is taken for one that nothing is owed', () => {
  const room = setUp();
  room.disk.set('link', '{"is":"sett|ed"}');
  room.startProcess().found(false);
  expect(room.said()).toBe(1);
});
