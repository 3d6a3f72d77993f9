import type { Reading } from '#rules/quality/reading.ts';
import type { OutboxItem } from '../ports/store.ts';
import type { OutboxTable } from './outbox-table.ts';
import type { StoreSettings } from './store-options.ts';

/** What the mirror makes of readings, put into the outbox with them. */
export function mirrorOf(outbox: OutboxTable, { mirrorBatch, onFault, clock }: StoreSettings) {
  function itemOf(readings: readonly Reading[]): OutboxItem | undefined {
    try {
      return mirrorBatch(readings);
    } catch (error) {
      // The record is worth more than its mirror: the readings are stored all the same.
      onFault({ kind: 'mirror_failed', detail: `${readings.length} readings have no mirror: ${String(error)}` });
      return undefined;
    }
  }

  return {
    /** Inside a transaction. Gives how many old items had to go. */
    put(readings: readonly Reading[]): number {
      const item = readings.length === 0 ? undefined : itemOf(readings);
      return item === undefined ? 0 : outbox.put(item, clock.nowMs()).dropped;
    },

    tellOfDropped(items: number): void {
      if (items > 0) onFault({ kind: 'outbox_dropped', detail: `Outbox full: ${items} oldest items dropped.` });
    },
  };
}
