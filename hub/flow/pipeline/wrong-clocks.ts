/** The probe, and how far its last stated time was ahead of the hub's, milliseconds. */
export type WrongClock = { probe: string; aheadMs: number };

export type WrongClocks = {
  /** A reading of this probe was dropped, since it is dated so far ahead. */
  ahead(probe: string, aheadMs: number): void;
  /** One came whose time can be. */
  right(probe: string): void;
  list(): readonly WrongClock[];
};

/**
 * Probes that date their readings ahead, from the first such reading to the next that can be: nothing of them is kept, and from
 * outside they look silent.
 *
 * @param told  once when it begins and once when it is over; with no `aheadMs` then
 */
export function watchClocks(told: (probe: string, aheadMs: number | undefined) => void): WrongClocks {
  const wrong = new Map<string, number>();
  return {
    ahead(probe, aheadMs) {
      const isNew = !wrong.has(probe);
      wrong.set(probe, aheadMs);
      if (isNew) told(probe, aheadMs);
    },
    right(probe) {
      if (wrong.delete(probe)) told(probe, undefined);
    },
    list: () => [...wrong].map(([probe, aheadMs]) => ({ probe, aheadMs })),
  };
}
