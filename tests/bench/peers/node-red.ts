import { existsSync, symlinkSync, writeFileSync } from 'node:fs';
import { homedir } from 'node:os';
import { join } from 'node:path';
import { band } from '../excursions.ts';

/** Where a notice of the flow goes. */
export const nodeRedPhone = 'node-red/phone';

/** Where a person's own Node-RED keeps the nodes that were added to it. */
const added = join(process.env['NODE_RED_HOME'] ?? join(homedir(), '.node-red'), 'node_modules');

/** Why the flow cannot run though Node-RED is here; undefined when it can. */
export function missingNode(): string | undefined {
  return existsSync(join(added, 'node-red-node-sqlite'))
    ? undefined
    : 'node-red-node-sqlite is not installed in ~/.node-red';
}

/** One message for the table and, when a tank leaves its band, one for the phone. */
const check = `
const out = context.get('out') || {};
const value = Number(msg.payload);
const tank = msg.topic.slice('probes/t'.length);
const isOut = value < ${band.low} || value > ${band.high};
const isNews = isOut && !out[tank];
out[tank] = isOut;
context.set('out', out);
return [
  { params: { $topic: msg.topic, $time: Date.now(), $value: value } },
  isNews ? { payload: 'Tank <' + tank + '>: ' + value } : null,
];`;

/**
 * The flow that a person draws: readings from the broker, a check against the band, a row in SQLite, a message to the phone. By the
 * documents of Node-RED (nodes mqtt in, function, mqtt out, inject) and of node-red-node-sqlite (prepared statement).
 *
 * @returns what `node-red` is told to run it
 */
export function writeNodeRed(dir: string, brokerPort: number, port: number): string[] {
  const tab = 'room';
  const flow = [
    { id: tab, type: 'tab', label: 'Room' },
    {
      ...{ id: 'broker', type: 'mqtt-broker', broker: '127.0.0.1', port: String(brokerPort), clientid: 'node-red' },
      ...{ autoConnect: true, protocolVersion: '4', keepalive: '60', cleansession: false },
    },
    { id: 'db', type: 'sqlitedb', db: join(dir, 'readings.db'), mode: 'RWC' },
    {
      ...{ id: 'begin', type: 'inject', z: tab, once: true, onceDelay: 0, repeat: '', crontab: '', props: [] },
      wires: [['table']],
    },
    {
      ...{ id: 'table', type: 'sqlite', z: tab, mydb: 'db', sqlquery: 'fixed' },
      sql: 'CREATE TABLE IF NOT EXISTS readings (topic TEXT, time INTEGER, value REAL)',
      wires: [[]],
    },
    {
      ...{ id: 'in', type: 'mqtt in', z: tab, topic: 'probes/+', qos: '1', datatype: 'utf8', broker: 'broker' },
      wires: [['check']],
    },
    { id: 'check', type: 'function', z: tab, func: check, outputs: 2, wires: [['row'], ['phone']] },
    {
      ...{ id: 'row', type: 'sqlite', z: tab, mydb: 'db', sqlquery: 'prepared' },
      sql: 'INSERT INTO readings VALUES ($topic, $time, $value)',
      wires: [[]],
    },
    {
      ...{ id: 'phone', type: 'mqtt out', z: tab, topic: nodeRedPhone, qos: '1', retain: 'false', broker: 'broker' },
      wires: [],
    },
  ];
  const flows = join(dir, 'flows.json');
  writeFileSync(flows, JSON.stringify(flow));
  symlinkSync(added, join(dir, 'node_modules'));
  return ['--userDir', dir, '--port', String(port), flows];
}
