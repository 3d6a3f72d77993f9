/** What is carried from the water to have ready into the form of a new batch, in the address so that a reload keeps it. */
export type BatchStart = {
  system: string;
  litres: string;
  salinity: string;
  salt: string;
  grams_per_litre_at_35: string;
  arrival: string;
};

const none: BatchStart = { system: '', litres: '', salinity: '', salt: '', grams_per_litre_at_35: '', arrival: '' };

export function makeBatchAddress(start: Partial<BatchStart>): string {
  return `#/water/make/${encodeURIComponent(new URLSearchParams({ ...none, ...start }).toString())}`;
}

/** @param part  of the address, as the route has decoded it */
export function batchStartOf(part: string | undefined): BatchStart {
  const given = new URLSearchParams(part ?? '');
  return Object.fromEntries(Object.keys(none).map((name) => [name, given.get(name) ?? ''])) as BatchStart;
}
