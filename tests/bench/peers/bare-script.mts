import Database from 'better-sqlite3';
import { connect } from 'mqtt';
import { ReadlineParser, SerialPort } from 'serialport';
import { sayReady, sayResult, task } from '../child.ts';
import { createStopwatch } from '../flood.ts';

/**
 * What a person who can program puts together in an evening: mqtt.js or serialport, better-sqlite3, a check against one band with a
 * message to a phone, and a commit every ten seconds. It knows no silence, no quality, no repeats, no delays.
 */
const given = task<{
  dbPath: string;
  band: { low: number; high: number };
  mqtt?: { port: number; clientId: string; topics: string[]; phone: string };
  serialPath?: string;
  /** It ends after so many; else when it is told to. */
  expected?: number;
}>();
const db = new Database(given.dbPath);
db.pragma('journal_mode = WAL');
db.exec('CREATE TABLE IF NOT EXISTS readings (topic TEXT, time INTEGER, value REAL)');
const insert = db.prepare('INSERT INTO readings VALUES (?, ?, ?)');
const out = new Set<string>();
let waiting: [topic: string, timeMs: number, value: number][] = [];

const commit = db.transaction(() => {
  for (const row of waiting) insert.run(...row);
  waiting = [];
});
setInterval(commit, 10_000);

function keep(topic: string, timeMs: number, value: number, tell: (text: string) => void): void {
  waiting.push([topic, timeMs, value]);
  const isOut = value < given.band.low || value > given.band.high;
  if (isOut && !out.has(topic)) tell(`Tank <${topic.slice('probes/t'.length)}>: ${value}`);
  if (isOut) out.add(topic);
  else out.delete(topic);
  if (stopwatch.take(value)) end();
}

const stopwatch = createStopwatch(given.expected ?? Number.POSITIVE_INFINITY);

function end(): void {
  commit();
  // Only with the log in the file is all as it will stay.
  const drained = stopwatch.end(db.prepare('SELECT count(*) FROM readings').pluck().get() as number);
  db.close();
  sayResult(drained);
}
process.once('SIGTERM', end);

if (given.mqtt !== undefined) {
  const { port, clientId, topics, phone } = given.mqtt;
  const client = connect(`mqtt://127.0.0.1:${port}`, { clientId, clean: false });
  client.on('message', (topic, payload) => {
    const text = payload.toString('utf8');
    const tell = (notice: string) => void client.publish(phone, notice, { qos: 1 });
    if (!text.startsWith('[')) return keep(topic, Date.now(), Number(text), tell);
    for (const { t, v } of JSON.parse(text) as { t: number; v: number }[]) keep(topic, t * 1000, v, tell);
  });
  client.once('connect', () => client.subscribe(topics, { qos: 1 }, sayReady));
} else if (given.serialPath !== undefined) {
  const port = new SerialPort({ path: given.serialPath, baudRate: 115_200 });
  port.pipe(new ReadlineParser()).on('data', (line: string) => {
    // The first line may be torn.
    if (!line.startsWith('[') || !line.endsWith(']')) return;
    const pack = JSON.parse(line) as { bt?: number; n: string; v: number }[];
    for (const { n, v } of pack) keep(n, pack[0]!.bt! * 1000, v, () => {});
  });
  port.once('open', sayReady);
}
