import mqtt from 'mqtt';
import { defined } from '#rules/plain-data/defined.ts';
import { decoders } from '../decoders/registry.ts';
import type { BrokerToHear, Heard, HeardTopic } from '../ports/first-look.ts';
import { capPackets } from './cap-packets.ts';

const mostTopics = 1000;
const mostPayloadBytes = 8192;
const mostPathsInAMessage = 60;
const mostDepth = 4;
const connectWithinMs = 10_000;

/**
 * Listens to all that a broker carries for a while, and says what of it is numbers. Its own session, which leaves nothing
 * behind; nothing is published.
 *
 * @throws Error  in words, when the broker cannot be reached or refuses
 */
export function hearBroker(broker: BrokerToHear, seconds: number): Promise<HeardTopic[]> {
  const topics = new Map<string, HeardTopic>();
  return new Promise((resolve, reject) => {
    const client = mqtt.connect(broker.url, {
      clientId: `brinekeep-setup-${process.pid}`,
      clean: true,
      reconnectPeriod: 0,
      manualConnect: true,
      connectTimeout: connectWithinMs,
      ...defined({ username: broker.username, password: broker.password, ca: broker.ca }),
    });
    capPackets(client, mostPayloadBytes);
    let timer: NodeJS.Timeout | undefined;
    let reason = 'the broker closed the connection';
    client.on('error', (error) => {
      reason = error.message || String((error as NodeJS.ErrnoException).code ?? error.name);
      client.end(true);
    });
    client.on('close', () => {
      if (timer === undefined) reject(new Error(`${broker.url}: ${reason}`));
      else {
        clearTimeout(timer);
        resolve([...topics.values()]);
      }
    });
    client.on('connect', () => {
      timer = setTimeout(() => client.end(true), seconds * 1000);
      client.subscribe('#', { qos: 0 });
    });
    client.on('message', (topic, payload) => {
      if (payload.length > mostPayloadBytes || (topics.size >= mostTopics && !topics.has(topic))) return;
      const found = numbersIn(payload.toString('utf8'));
      if (found !== undefined) topics.set(topic, { topic, ...found });
    });
    client.connect();
  });
}

/** The plainest format that reads a payload whole, with its numbers. */
function numbersIn(text: string): Omit<HeardTopic, 'topic'> | undefined {
  const nowMs = Date.now();
  for (const format of ['number', 'senml', 'key_value'] as const) {
    const decoded = decoders[format](text, { nowMs });
    if (decoded.ok && decoded.values.length > 0) {
      return {
        format,
        heard: decoded.values.map(({ channel, value, unit }) => ({
          channel,
          value,
          ...defined({ unit }),
        })),
      };
    }
  }
  const heard = numbersOfJson(text, nowMs);
  return heard.length === 0 ? undefined : { format: 'json', heard };
}

/** Every place of a JSON document that the decoder takes a number from. */
function numbersOfJson(text: string, nowMs: number): Heard[] {
  let document: unknown;
  try {
    document = JSON.parse(text);
  } catch {
    return [];
  }
  const paths: string[] = [];
  collect(document, '', 0, paths);
  const decoded = decoders.json(text, { nowMs, paths: paths.map((path) => ({ channel: path, path })) });
  return decoded.ok ? decoded.values.map(({ channel, value }) => ({ channel, value })) : [];
}

function collect(here: unknown, path: string, depth: number, paths: string[]): void {
  if (typeof here !== 'object' || here === null || depth >= mostDepth) return;
  for (const [key, value] of Object.entries(here)) {
    // A key with a point in it has no dotted path.
    if (paths.length >= mostPathsInAMessage || key.includes('.')) continue;
    const at = path === '' ? key : `${path}.${key}`;
    if (
      typeof value === 'number' ||
      (typeof value === 'string' && value.trim() !== '' && Number.isFinite(Number(value)))
    )
      paths.push(at);
    else collect(value, at, depth + 1, paths);
  }
}
