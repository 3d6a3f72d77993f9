import type { Heard, HeardPort, HeardTopic } from '#adapters/ports/first-look.ts';
import { defined } from '#rules/plain-data/defined.ts';
import { type Metric, metricFacts } from '#rules/quantity/metric.ts';
import { type Guess, guessMetric } from './guess-metric.ts';

/** A number that may be a probe, with what the configuration must say to read it. */
export type FoundProbe = {
  guess: Guess;
  /** As it was sent. */
  raw: number;
  everySeconds?: number;
} & (
  | { by: 'serial'; portId: string; channel: string }
  | { by: 'mqtt'; topic: string; format: HeardTopic['format']; channel: string }
);

export type FoundPort = Omit<HeardPort, 'speech'> & {
  id: string;
  speech: NonNullable<HeardPort['speech']>;
  /** For `csv`: a name for each column, `-` for one that nobody could name. */
  columns?: string[];
};

/** Short, and different for each port: `probes-1`, `probes-2`. */
export function foundPort(heard: HeardPort, index: number): FoundPort | undefined {
  const { speech } = heard;
  if (speech === undefined) return undefined;
  return { ...heard, id: `probes-${index + 1}`, speech };
}

/** The probes of a port. For columns it also gives each its name. */
export function probesOfPort(port: FoundPort): FoundProbe[] {
  const { speech } = port;
  if (speech.format !== 'csv') return speech.heard.flatMap((heard) => probe(heard, { by: 'serial', portId: port.id }));
  const found: FoundProbe[] = [];
  const names = new Map<number, string>();
  for (const heard of speech.heard) {
    const column = Number(heard.channel.slice(1));
    const [named] = probe({ ...heard, channel: '' }, { by: 'serial', portId: port.id });
    if (named === undefined) continue;
    const isTaken = [...names.values()].includes(named.guess.metric);
    const name = isTaken ? `${named.guess.metric}-${column}` : named.guess.metric;
    names.set(column, name);
    found.push({ ...named, channel: name });
  }
  port.columns = Array.from({ length: speech.columnCount ?? 0 }, (_, index) => names.get(index + 1) ?? '-');
  return found;
}

/** The probes of a topic. The hub's own topics are no probes. */
export function probesOfTopic({ topic, format, heard }: HeardTopic, ownPrefix: string): FoundProbe[] {
  if (topic.startsWith('$') || topic === ownPrefix || topic.startsWith(`${ownPrefix}/`)) return [];
  return heard.flatMap((each) => probe(each, { by: 'mqtt', topic, format }));
}

type Source = { by: 'serial'; portId: string } | { by: 'mqtt'; topic: string; format: HeardTopic['format'] };

function probe(heard: Heard, source: Source): FoundProbe[] {
  // A document of many numbers is told apart by its keys; a topic by its levels, of which the last names the quantity.
  const levels = source.by === 'mqtt' ? source.topic.split('/').reverse().slice(0, 2) : [];
  const names = heard.channel === '' ? levels : [heard.channel];
  const guess = guessMetric(names, heard.value, heard.unit);
  if (guess === undefined) return [];
  // Of a document only what it names itself: any number in it may look like a pH.
  if (guess.by === 'value' && heard.channel !== '') return [];
  const pace = defined({ everySeconds: heard.everySeconds });
  return [{ guess, raw: heard.value, ...pace, channel: heard.channel, ...source }];
}

/** One line for a person: what it is, where, and the value of now. */
export function wordsOf(found: FoundProbe): string {
  const { label, unit, decimals } = metricFacts[found.guess.metric];
  const value = `${found.guess.value.toFixed(decimals)}${unit === '' ? '' : ` ${unit}`}`;
  const named = found.channel === '' ? '' : ` as "${found.channel}"`;
  const where = found.by === 'serial' ? `port ${found.portId}${named}` : `topic ${found.topic}${named}`;
  const doubt = found.guess.by === 'value' ? ' (guessed from its value: it has no name)' : '';
  return `${label} ${value} on ${where}${doubt}`;
}

/** `display-temperature`, `display-temperature-2`: different for each of a list, in its order, and from those that are taken. */
export function probeIds(
  system: string,
  chosen: readonly { guess: { metric: Metric } }[],
  taken: readonly string[] = [],
): string[] {
  const used = new Set(taken);
  return chosen.map(({ guess: { metric } }) => {
    for (let count = 1; ; count += 1) {
      const tail = `-${metric.replaceAll('_', '-')}${count === 1 ? '' : `-${count}`}`;
      const id = `${system.slice(0, 40 - tail.length)}${tail}`;
      if (used.has(id)) continue;
      used.add(id);
      return id;
    }
  });
}
