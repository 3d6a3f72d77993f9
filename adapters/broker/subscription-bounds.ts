/** Of one client. A hub with a thousand probes on topics of their own has as many. */
const mostOfOne = 2000;

/** The filter, and 500 bytes for the objects around it: an estimate on the safe side, not measured. */
const sizeOf = (filter: string) => filter.length + 500;

/** A client as long as it is connected; of a lasting session, which outlives it, the client's identifier. */
export type Holder = object | string;

/**
 * What clients subscribe to stays in memory as long as they are there, and that of a lasting session longer.
 *
 * Is: at the limit a further filter may not be had (128, MQTT 3.1.1, 3.9.3); those that a client has stay.
 */
export function createSubscriptionBounds(mostBytes: number) {
  const taken = new Map<Holder, Set<string>>();
  let bytes = 0;

  function release(holder: Holder, filters: Iterable<string>): void {
    const own = taken.get(holder);
    if (own === undefined) return;
    for (const filter of filters) if (own.delete(filter)) bytes -= sizeOf(filter);
    if (own.size === 0) taken.delete(holder);
  }

  return {
    /** True when it has the filter, or may have it from now on. */
    take(holder: Holder, filter: string): boolean {
      const own = taken.get(holder) ?? new Set<string>();
      if (own.has(filter)) return true;
      if (own.size >= mostOfOne || bytes + sizeOf(filter) > mostBytes) return false;
      taken.set(holder, own.add(filter));
      bytes += sizeOf(filter);
      return true;
    },
    release,
    /** All that it has. */
    forget: (holder: Holder) => release(holder, [...(taken.get(holder) ?? [])]),
  };
}

export type SubscriptionBounds = ReturnType<typeof createSubscriptionBounds>;
