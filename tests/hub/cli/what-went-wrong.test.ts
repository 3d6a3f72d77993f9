import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test, vi } from 'vitest';
import { freePort } from '../../servers/free-port.ts';
import { roomText, scratchRoom } from '../../servers/hub-process.ts';
import { patience } from '../../servers/server-process.ts';
import { verbHere } from './verb-here.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 60_000 * patience() });

const { dir, remove } = scratchRoom();
const at = (name: string) => join(dir, name);
const room = at('room.yaml');
const smallest = {
  systems: [{ id: 'display', name: 'Display', volume_l: 420, bands: { temperature: { low: 24.5, high: 26.5 } } }],
  probes: [{ id: 'sump-t', system: 'display', metric: 'temperature', mqtt: { topic: 'sump/t' } }],
};

beforeAll(async () => {
  mkdirSync(at('folder'));
  const write = (name: string, text: string) => writeFileSync(at(name), text);
  const mistaken = (name: string, more: object) => write(name, roomText(dir, { ...smallest, ...more }));
  write('room.yaml', roomText(dir, { ...smallest, http: { port: await freePort() } }));
  mistaken('port.yaml', { http: { port: 87_400 } });
  mistaken('broker.yaml', { mqtt: { url: '192.0.2.7:1883' } });
  mistaken('device.yaml', { serial: [{ id: 'board', path: '/dev/ttyACM0', baud: 9600, format: 'keyvalue' }] });
  mistaken('unit.yaml', { probes: [{ ...smallest.probes[0], unit: 'mS/cm' }] });
  mistaken('name.yaml', { probes: [{ ...smallest.probes[0], system: 'dispaly' }] });
  mistaken('metric.yaml', { probes: [{ ...smallest.probes[0], metric: 'temprature' }] });
  mistaken('zone.yaml', { site: { name: 'Room', timezone: 'Europe/Lisboa' } });
  mistaken('empty.yaml', { data_dir: at('nothing') });
  write('header.csv', 'when,tank,what,how much\n2026-07-01,display,temperature,25\n');
  write('semicolons.csv', 'time;system;metric;value\n2026-07-01T00:00Z;display;temperature;25,3\n');
  write('photo.db', 'not a database');
});
afterAll(remove);

const cell = ['--probe', 'sump-t', '--by', 'Anna', '--why', 'routine', '--temperature', '25'];

type Mistake = { what: string; args: () => string[]; code: 1 | 2; says: RegExp; todo: RegExp };

const mistakes: Mistake[] = [
  {
    ...{ what: 'a configuration that is not there', args: () => ['check', at('no.yaml')], code: 2 },
    ...{ says: /no\.yaml: there is no such file/, todo: /Name the configuration file, or set BRINEKEEP_CONFIG/ },
  },
  {
    ...{ what: 'a folder for a configuration', args: () => ['check', at('folder')], code: 2 },
    ...{ says: /this is a folder, not a file/, todo: /Name the configuration file/ },
  },
  {
    ...{ what: 'a port that is none', args: () => ['check', at('port.yaml')], code: 1 },
    ...{ says: /port\.yaml:\d+ http\.port: found 87400/, todo: /need a whole number from 0 to 65535/ },
  },
  {
    ...{ what: 'a broker without its scheme', args: () => ['check', at('broker.yaml')], code: 1 },
    ...{ says: /mqtt\.url: found "192\.0\.2\.7:1883"/, todo: /mqtt:\/\// },
  },
  {
    ...{ what: 'a format of a board that is none', args: () => ['check', at('device.yaml')], code: 1 },
    ...{ says: /serial\[0\]\.format: found "keyvalue"/, todo: /Did you mean key_value\?/ },
  },
  {
    ...{ what: 'a unit of another metric', args: () => ['check', at('unit.yaml')], code: 1 },
    ...{ says: /probes\[0\]\.unit: found "mS\/cm"/, todo: /°C/ },
  },
  {
    ...{ what: 'a system that is misspelt', args: () => ['check', at('name.yaml')], code: 1 },
    ...{ says: /probes\[0\]\.system: found "dispaly"/, todo: /Did you mean display\?/ },
  },
  {
    ...{ what: 'a metric that is misspelt', args: () => ['check', at('metric.yaml')], code: 1 },
    ...{ says: /probes\[0\]\.metric: found "temprature"/, todo: /Did you mean temperature\?/ },
  },
  {
    ...{ what: 'a time zone that is none', args: () => ['check', at('zone.yaml')], code: 1 },
    ...{ says: /site\.timezone: found "Europe\/Lisboa"/, todo: /Did you mean Europe\/Lisbon\?/ },
  },
  {
    ...{ what: 'no hub that runs', args: () => ['phone', 'list', '--config', room], code: 1 },
    ...{ says: /no hub answers at 127\.0\.0\.1:\d+/, todo: /Start it with: brinekeep run \S+room\.yaml/ },
  },
  {
    ...{ what: 'a verb that is misspelt', args: () => ['chekc'], code: 2 },
    ...{ says: /unknown command 'chekc'/, todo: /Did you mean check\?/ },
  },
  {
    ...{ what: 'a calculation that is misspelt', args: () => ['calc', 'salinty'], code: 2 },
    ...{ says: /unknown command 'salinty'/, todo: /Did you mean salinity\?/ },
  },
  {
    what: 'a decimal comma in a flag',
    args: () => ['calc', 'salinity', '--conductivity_mS_cm', '53,07', '--temperature_C', '25'],
    ...{ code: 1, says: /conductivity_mS_cm: found "53,07", need a number/, todo: /Write 53\.07/ },
  },
  {
    what: 'a conductivity in µS/cm',
    args: () => ['calc', 'salinity', '--conductivity_mS_cm', '53070', '--temperature_C', '25'],
    ...{ code: 1, says: /found 53070, need mS\/cm/, todo: /Is it in µS\/cm\? Then write 53\.07/ },
  },
  {
    ...{ what: 'a cell without its standard', code: 2 },
    args: () => ['calibrate', 'cell', '--config', room, ...cell, '--shown', '12.9'],
    ...{ says: /need either/, todo: /--kcl or --salinity/ },
  },
  {
    ...{ what: 'a decimal comma in a calibration', code: 2 },
    args: () => ['calibrate', 'cell', '--config', room, ...cell, '--shown', '12,9', '--kcl', 'kcl_12.88mS'],
    ...{ says: /--shown: found "12,9", need a number/, todo: /Write 12\.9/ },
  },
  {
    ...{ what: 'a buffer that is not whole', code: 2 },
    args: () => ['calibrate', 'ph', '7', '--config', room, ...cell.slice(0, 6)],
    ...{ says: /found "7", need BUFFER,TEMPERATURE,READING/, todo: /such as 7\.02,22\.5,-3\.1mV/ },
  },
  {
    ...{
      what: 'a table that is not there',
      args: () => ['import', '--config', room, '--as', 'readings', at('no.csv')],
    },
    ...{ code: 2, says: /no\.csv: there is no such file/, todo: /no\.csv/ },
  },
  {
    ...{ what: 'a folder for a table', args: () => ['replay', room, at('folder')], code: 2 },
    ...{ says: /folder: this is a folder/, todo: /not a file/ },
  },
  {
    ...{ what: 'a table with another header', code: 1 },
    args: () => ['import', '--config', room, '--as', 'readings', at('header.csv')],
    ...{ says: /its header is when, tank, what, how much/, todo: /--column time="its name"/ },
  },
  {
    ...{ what: 'a table with semicolons', code: 2 },
    args: () => ['import', '--config', room, '--as', 'readings', at('semicolons.csv')],
    ...{ says: /its header is one column/, todo: /try --separator ";"/ },
  },
  {
    ...{ what: 'a kind of row that is none', code: 2 },
    args: () => ['import', '--config', room, '--as', 'plans', at('header.csv')],
    ...{ says: /argument 'plans' is invalid/, todo: /readings, tests, doses, water-changes/ },
  },
  {
    ...{ what: 'a wrong file to restore', args: () => ['restore', at('photo.db'), '--config', room], code: 1 },
    ...{ says: /photo\.db is not a backup of Brinekeep\. Nothing was changed/, todo: /`brinekeep backup` wrote/ },
  },
  {
    ...{ what: 'a backup of no store', args: () => ['backup', at('b.db'), '--config', at('empty.yaml')], code: 1 },
    ...{ says: /there is no store yet/, todo: /nothing to back up/ },
  },
  {
    ...{ what: 'a week that is none', args: () => ['export', room, '--week', '2026-50'], code: 2 },
    ...{ says: /--week: found "2026-50"/, todo: /such as 2026-W47/ },
  },
  {
    ...{ what: 'nothing to replay', args: () => ['replay', room], code: 2 },
    ...{ says: /nothing to replay/, todo: /name a CSV file of readings, or --tests/ },
  },
  {
    ...{ what: 'a setup over a file that is there', args: () => ['setup', at('photo.db')], code: 1 },
    ...{ says: /it exists and is left as it is/, todo: /Name another file/ },
  },
  {
    ...{ what: 'a setup into a folder that is not there', args: () => ['setup', at('no/room.yaml')], code: 2 },
    ...{ says: /there is no such folder/, todo: /Make it, or name another file/ },
  },
  {
    ...{ what: 'a setup without the litres', args: () => ['setup', at('s.yaml'), '--unattended'], code: 2 },
    ...{ says: /in litres: no answer/, todo: /need 1 litre or more, such as 420/ },
  },
];

test('fewer than twenty-five kinds of mistakes are held', () => {
  expect(new Set(mistakes.map(({ what }) => what)).size).toBeGreaterThanOrEqual(25);
});

test.each(mistakes)('$what is answered by a riddle, and not by what to do', async ({ args, code, says, todo }) => {
  const ended = await verbHere(args());
  expect({ code: ended.code, err: ended.err }).toEqual({ code, err: expect.stringMatching(says) });
  expect(ended.err).toMatch(todo);
  // In words: no stack, and no code of the operating system.
  expect(ended.err).not.toMatch(/^\s+at |\bE[A-Z]{4,}\b|node:internal/m);
  // One cause, one message; `check` closes with the count of the mistakes.
  const told = ended.err.trimEnd().split('\n');
  expect(told.filter((line) => /found|there is no/.test(line)).length).toBeLessThanOrEqual(1);
});
