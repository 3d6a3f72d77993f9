/** The `system,metric` part of a row, turned to text once for each pair and not once for each row. */
export type SeriesName = { system: string; metric: string };

type Known = SeriesName & { bytes: Uint8Array };

/** A room has a few hundred pairs; a file of random names must not fill the memory. */
const mostKnown = 20_000;

/** Finds pairs by their bytes. A pair with an empty name or other than one comma in it is undefined. */
export function createSeriesNames() {
  const byHash = new Map<number, Known[]>();
  let count = 0;
  return (bytes: Uint8Array, from: number, to: number): SeriesName | undefined => {
    let hash = to - from;
    for (let at = from; at < to; at++) hash = (Math.imul(hash, 31) + bytes[at]!) | 0;
    const candidates = byHash.get(hash);
    if (candidates !== undefined) {
      for (const known of candidates) if (isSame(known.bytes, bytes, from, to)) return known;
    }
    const name = nameOf(bytes.subarray(from, to));
    if (name === undefined || count >= mostKnown) return name;
    count++;
    const known = { ...name, bytes: bytes.slice(from, to) };
    if (candidates === undefined) byHash.set(hash, [known]);
    else candidates.push(known);
    return known;
  };
}

function isSame(known: Uint8Array, bytes: Uint8Array, from: number, to: number): boolean {
  if (known.length !== to - from) return false;
  for (let at = 0; at < known.length; at++) if (known[at] !== bytes[from + at]) return false;
  return true;
}

const decoder = new TextDecoder();

function nameOf(bytes: Uint8Array): SeriesName | undefined {
  const [system = '', metric = '', ...more] = decoder.decode(bytes).split(',');
  const name = { system: system.trim(), metric: metric.trim() };
  return more.length > 0 || name.system === '' || name.metric === '' ? undefined : name;
}
