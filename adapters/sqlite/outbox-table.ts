import type Database from 'better-sqlite3';
import type { KeptOutboxItem, OutboxItem, Store } from '../ports/store.ts';

export type OutboxRow = { id: number; destination: string; key: string; payload: string; created_ms: number };
type Row = OutboxRow;
type Load = { waiting: number; parked: number; bytes: number };

/** The most that waits for one destination. Beyond it the oldest waiting items go, counted in `dropped`. */
export type OutboxLimit = { items: number; bytes: number };

const mostParked = 1_000;
/** Each look at what waits reads past these: beyond so many of them a long queue would grow dearer with every item sent. */
const mostDelivered = 200;

/**
 * Things to deliver, in order of their ids. A destination that stays away for long must not fill the disk, so each has a
 * limit: at the limit the oldest waiting items are dropped and counted, since what is new matters most to a person who
 * comes back. Of the parked items the newest thousand stay, to be looked at.
 */
export function outboxTable(db: Database.Database, limit: OutboxLimit) {
  // What is in the log of commits alone, as strict as the table.
  db.exec(`
    CREATE TEMP TABLE IF NOT EXISTS new_outbox (
      destination TEXT NOT NULL, id INTEGER NOT NULL, key TEXT NOT NULL, payload TEXT NOT NULL, created_ms INTEGER NOT NULL,
      parked_reason TEXT, PRIMARY KEY (destination, id), UNIQUE (destination, key)
    ) WITHOUT ROWID, STRICT;
    CREATE TEMP VIEW IF NOT EXISTS outbox_all AS SELECT * FROM main.outbox UNION ALL SELECT * FROM temp.new_outbox;
  `);
  const into = (table: string) =>
    db.prepare<[string, number, string, string, number]>(
      `INSERT INTO ${table} (destination, id, key, payload, created_ms) VALUES (?, ?, ?, ?, ?)`,
    );
  const insert = into('main.outbox');
  const insertNew = into('temp.new_outbox');
  const byKey = db.prepare<[string, string]>('SELECT 1 FROM outbox_all WHERE destination = ? AND key = ?');
  const newRows = db.prepare<[], OutboxRow>(
    'SELECT destination, id, key, payload, created_ms FROM temp.new_outbox ORDER BY id',
  );
  const fromNew = db.prepare('INSERT INTO main.outbox SELECT * FROM temp.new_outbox');
  const forgetNew = db.prepare('DELETE FROM temp.new_outbox');
  const waitingRows = db.prepare<[string, number], Row>(
    'SELECT id, destination, key, payload, created_ms FROM outbox_all WHERE destination = ? AND parked_reason IS NULL ORDER BY id LIMIT ?',
  );
  const one = db.prepare<[string, number], Row & { parked_reason: string | null }>(
    'SELECT * FROM outbox_all WHERE destination = ? AND id = ?',
  );
  const removeKept = db.prepare<[string, number]>('DELETE FROM main.outbox WHERE destination = ? AND id = ?');
  const removeNew = db.prepare<[string, number]>('DELETE FROM temp.new_outbox WHERE destination = ? AND id = ?');
  const park = db.prepare<[string, string, number]>(
    'UPDATE outbox SET parked_reason = ? WHERE destination = ? AND id = ?',
  );
  const unpark = db.prepare<[string, number]>(
    'UPDATE outbox SET parked_reason = NULL WHERE destination = ? AND id = ?',
  );
  const parked = db.prepare<[string, number], Row & { parked_reason: string }>(
    'SELECT * FROM outbox WHERE destination = ? AND parked_reason IS NOT NULL ORDER BY id LIMIT ?',
  );
  const trimParked = db.prepare<[string, string]>(
    `DELETE FROM outbox WHERE destination = ? AND parked_reason IS NOT NULL AND id <=
      (SELECT id FROM outbox WHERE destination = ? AND parked_reason IS NOT NULL ORDER BY id DESC LIMIT 1 OFFSET ${mostParked})`,
  );
  const count = db.prepare<[string, number]>(
    'INSERT INTO counters (name, count) VALUES (?, ?) ON CONFLICT DO UPDATE SET count = count + excluded.count',
  );
  const counted = db.prepare<[string], { count: number }>('SELECT count FROM counters WHERE name = ?');
  const measure = db.prepare<[], { destination: string; last_id: number } & Load>(
    `SELECT destination, max(id) AS last_id, sum(parked_reason IS NULL) AS waiting, sum(parked_reason IS NOT NULL) AS parked,
      sum(iif(parked_reason IS NULL, length(CAST(payload AS BLOB)), 0)) AS bytes FROM outbox_all GROUP BY destination`,
  );

  // Ids rise as long as the process lives; nobody holds one from before. So an id need not outlive its item.
  let nextId = 1;
  const loads = new Map<string, Load>();
  function loadOf(destination: string): Load {
    const load = loads.get(destination) ?? { waiting: 0, parked: 0, bytes: 0 };
    loads.set(destination, load);
    return load;
  }
  /** Are with whom they are for, and still in the file: they go with the next transaction. */
  const delivered = new Set<number>();
  /** Have left, and the log of commits still has them. */
  let gone: number[] = [];

  /** Inside a transaction. */
  function remove(destination: string, id: number): void {
    if (removeKept.run(destination, id).changes === 0 && removeNew.run(destination, id).changes > 0) gone.push(id);
  }

  function remeasure(): void {
    loads.clear();
    gone = [];
    for (const { destination, last_id, ...load } of measure.all()) {
      loads.set(destination, load);
      nextId = Math.max(nextId, last_id + 1);
    }
    for (const id of delivered) {
      const row = itemOf(id);
      if (row !== undefined) discount(row);
    }
  }

  /** An id is of one item alone, whoever it is for. */
  function itemOf(id: number): (Row & { parked_reason: string | null }) | undefined {
    for (const destination of loads.keys()) {
      const row = one.get(destination, id);
      if (row !== undefined) return row;
    }
    return undefined;
  }

  function discount({ destination, payload }: Row): void {
    const load = loadOf(destination);
    load.waiting -= 1;
    load.bytes -= Buffer.byteLength(payload);
  }

  remeasure();

  function waiting(destination: string, most: number): Row[] {
    const rows = waitingRows.all(destination, most + delivered.size);
    return rows.filter(({ id }) => !delivered.has(id)).slice(0, most);
  }

  /** Inside a transaction. */
  function removeDelivered(): void {
    for (const id of delivered) for (const destination of loads.keys()) remove(destination, id);
  }

  const table = {
    /**
     * Inside a transaction. Gives how many old items had to go, and the row unless one of that key is there.
     *
     * @param isNew  only in memory: the row goes into the log of commits
     */
    put({ destination, key, payload }: OutboxItem, nowMs: number, isNew = false): { dropped: number; row?: OutboxRow } {
      // What is said again may have the key of what was delivered.
      removeDelivered();
      if (byKey.get(destination, key) !== undefined) return { dropped: 0 };
      const row = { id: nextId, destination, key, payload, created_ms: nowMs };
      (isNew ? insertNew : insert).run(destination, row.id, key, payload, nowMs);
      nextId += 1;
      const load = loadOf(destination);
      load.waiting += 1;
      load.bytes += Buffer.byteLength(payload);
      let dropped = 0;
      while (load.waiting > 1 && (load.waiting > limit.items || load.bytes > limit.bytes)) {
        const [oldest] = waiting(destination, 1) as [Row];
        remove(oldest.destination, oldest.id);
        discount(oldest);
        dropped += 1;
      }
      if (dropped > 0) count.run(`outbox_dropped_${destination}`, dropped);
      return { dropped, row };
    },

    /** What is in memory alone. */
    newRows: () => newRows.all(),
    /** Inside a transaction: what was in memory alone comes into the table. */
    settle(): void {
      fromNew.run();
      forgetNew.run();
    },
    /** Inside the transaction in which they left: for the log of commits. */
    takeGone(): number[] {
      const taken = gone;
      gone = [];
      return taken;
    },

    /** Counts from the file again: after a transaction that was rolled back. */
    remeasure,

    waiting: (destination: string, most: number): KeptOutboxItem[] =>
      waiting(destination, most).map(({ created_ms, ...item }) => ({ ...item, createdMs: created_ms })),

    /**
     * These are delivered: nobody is given them any more. They leave the file with the next transaction, since one of their own costs the
     * card a third of what the alarm did. What was killed before finds them in the side file; a power cut repeats them, which their keys
     * tell.
     */
    acknowledge(ids: readonly number[]): void {
      for (const id of ids) {
        const row = itemOf(id);
        if (row?.parked_reason !== null || delivered.has(id)) continue;
        delivered.add(id);
        discount(row);
      }
    },
    /** By a process that was killed. Their ids are not given again: they stand in the side file until the next flush. */
    deliveredBefore(ids: readonly number[]): void {
      table.acknowledge(ids);
      for (const id of ids) nextId = Math.max(nextId, id + 1);
    },
    isAnyDelivered: (): boolean => delivered.size > 0,
    /** They should not wait for the next transaction. */
    isMuchDelivered: (): boolean => delivered.size > mostDelivered,
    /** Inside a transaction. `forgetDelivered` follows when it is through. */
    removeDelivered,
    forgetDelivered: (): void => delivered.clear(),

    /** Inside a transaction. */
    park(id: number, reason: string): void {
      const row = itemOf(id);
      if (row?.parked_reason !== null || delivered.has(id)) return;
      park.run(reason, row.destination, id);
      const load = loadOf(row.destination);
      load.waiting -= 1;
      load.bytes -= Buffer.byteLength(row.payload);
      load.parked += 1 - trimParked.run(row.destination, row.destination).changes;
    },

    parked: (destination: string, most: number): (KeptOutboxItem & { reason: string })[] =>
      parked.all(destination, most).map(({ id, key, payload, created_ms, parked_reason }) => ({
        id,
        destination,
        key,
        payload,
        createdMs: created_ms,
        reason: parked_reason,
      })),

    /** Inside a transaction. */
    unpark(ids: readonly number[]): void {
      for (const id of ids) {
        const row = itemOf(id);
        if (row === undefined || row.parked_reason === null) continue;
        unpark.run(row.destination, id);
        const load = loadOf(row.destination);
        load.parked -= 1;
        load.waiting += 1;
        load.bytes += Buffer.byteLength(row.payload);
      }
    },

    depth(destination: string): ReturnType<Store['outboxDepth']> {
      const load = loadOf(destination);
      const oldestMs = waiting(destination, 1)[0]?.created_ms;
      return {
        waiting: load.waiting,
        parked: load.parked,
        dropped: counted.get(`outbox_dropped_${destination}`)?.count ?? 0,
        ...(oldestMs !== undefined && { oldestMs }),
      };
    },
  };
  return table;
}

export type OutboxTable = ReturnType<typeof outboxTable>;
