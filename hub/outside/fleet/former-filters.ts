import * as z from 'zod';
import type { Store } from '#adapters/ports/store.ts';

const documentName = 'fleet filters';
/** The newest are kept. Six for each prefix that was ever named. */
const most = 3000;
const kept = z.array(z.string().max(300));

/**
 * The filters of former configurations. A broker keeps a hub's subscriptions over restarts, and a topic does not say which
 * filter brought it: without this, a hub that no longer shows a fleet would be sent its messages for good.
 */
export function formerFilters(store: Pick<Store, 'document' | 'commit'>, filters: readonly string[]): string[] {
  const known = knownOf(store.document(documentName));
  const former = known.filter((filter) => !filters.includes(filter));
  const all = [...former, ...filters].slice(-most);
  // Kept before the broker is asked: a crash in between must not forget them.
  if (filters.some((filter) => !known.includes(filter)))
    store.commit({ documents: [{ name: documentName, body: JSON.stringify(all) }] });
  return former;
}

function knownOf(body: string | undefined): string[] {
  try {
    const read = kept.safeParse(JSON.parse(body ?? '[]'));
    return read.success ? read.data : [];
  } catch {
    return [];
  }
}
