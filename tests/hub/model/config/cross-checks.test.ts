import { describe, expect, test } from 'vitest';
import { loadConfig } from '#hub/model/config/load.ts';
import { noFiles, problemsOf, smallest } from './config-texts.ts';

/** The path, and what was found, of the only problem that the lines after the smallest file bring. */
function only(lines: string): { path: string; found: string; need: string } {
  const problems = problemsOf(`${smallest}${lines}\n`);
  expect(problems.map(({ text }) => text)).toHaveLength(1);
  return problems[0]!;
}

function warningsOf(lines: string): string[] {
  const loaded = loadConfig(`${smallest}${lines}\n`, 'config.yaml', {}, noFiles);
  if (!loaded.ok) throw new Error(loaded.problems.map(({ text }) => text).join('\n'));
  return loaded.warnings;
}

const t1 = '  - {id: t1, system: display, metric: temperature, mqtt: {topic: room/t1}}';

describe('what one key alone cannot tell', () => {
  test.each([
    [
      'two systems of one id share their alarms',
      '  - {id: display, name: D, volume_l: 1, bands: {}}',
      'systems[1].id',
      '"display"',
    ],
    [
      'two probes of one id mix their readings',
      `probes:\n${t1}\n${t1.replace('room/t1', 'b')}`,
      'probes[1].id',
      '"t1"',
    ],
    [
      'two serial ports of one id',
      'serial:\n  - {id: a, path: /x, format: number}\n  - {id: a, path: /y, format: number}',
      'serial[1].id',
      '"a"',
    ],
    [
      'a probe of a system that is not there',
      `probes:\n${t1.replace('display', 'dsplay')}`,
      'probes[0].system',
      '"dsplay"',
    ],
    [
      'a probe on a port that is not there',
      'probes: [{id: a, system: display, metric: ph, serial: {port: usb}}]',
      'probes[0].serial.port',
      '"usb"',
    ],
    ['a probe with no wire', 'probes: [{id: a, system: display, metric: ph}]', 'probes[0]', 'neither serial nor mqtt'],
    [
      'a probe with two wires',
      'serial: [{id: u, path: /x, format: number}]\nprobes: [{id: a, system: display, metric: ph, serial: {port: u}, mqtt: {topic: a}}]',
      'probes[0]',
      'both serial and mqtt',
    ],
    [
      "two probes on one topic take each other's numbers",
      `probes:\n${t1}\n${t1.replace('id: t1', 'id: t2')}`,
      'probes[1].mqtt',
      'topic "room/t1", channel ""',
    ],
    [
      'a probe that listens to what the hub itself says',
      `probes:\n${t1.replace('room/t1', 'brinekeep/readings/display/temperature/t1')}`,
      'probes[0].mqtt.topic',
      '"brinekeep/readings/display/temperature/t1"',
    ],
    [
      'two probes on one serial channel',
      'serial: [{id: u, path: /x, format: senml}]\nprobes: [{id: a, system: display, metric: ph, serial: {port: u, channel: p}}, {id: b, system: display, metric: orp, serial: {port: u, channel: p}}]',
      'probes[1].serial',
      'port u, channel "p"',
    ],
    [
      'a CSV port without columns reads nothing',
      'serial: [{id: u, path: /x, format: csv}]',
      'serial[0].columns',
      'no columns',
    ],
    [
      'a probe of a column that the port does not send',
      'serial: [{id: u, path: /x, format: csv, columns: [temp, "-", ph]}]\nprobes: [{id: a, system: display, metric: ph, serial: {port: u, channel: pH}}]',
      'probes[0].serial.channel',
      '"pH"',
    ],
    [
      'the skipped column of a port',
      'serial: [{id: u, path: /x, format: csv, columns: [temp, "-", ph]}]\nprobes: [{id: a, system: display, metric: ph, serial: {port: u, channel: "-"}}]',
      'probes[0].serial.channel',
      '"-"',
    ],
    [
      'salinity computed with the temperature of a pH probe',
      'probes: [{id: p, system: display, metric: ph, mqtt: {topic: p}}, {id: c, system: display, metric: conductivity, temperature_probe: p, mqtt: {topic: c}}]',
      'probes[1].temperature_probe',
      '"p", a probe of ph',
    ],
    [
      'a temperature probe that is not there',
      `probes:\n${t1}\n  - {id: c, system: display, metric: conductivity, temperature_probe: t2, mqtt: {topic: c}}`,
      'probes[1].temperature_probe',
      '"t2"',
    ],
    [
      'salinity computed with the temperature of another tank',
      `  - {id: q, name: Q, volume_l: 9, bands: {}}\nprobes:\n${t1.replace('display', 'q')}\n  - {id: c, system: display, metric: conductivity, temperature_probe: t1, mqtt: {topic: c}}`,
      'probes[1].temperature_probe',
      '"t1", which is in q',
    ],
    [
      'a unit of another metric turns good numbers into nonsense',
      'probes: [{id: a, system: display, metric: conductivity, unit: ppm, mqtt: {topic: a}}, {id: t, system: display, metric: temperature, unit: °F, mqtt: {topic: t}}]',
      'probes[0].unit',
      '"ppm"',
    ],
    [
      'a changed rule for a system that is not there',
      'rules: [{rule: rate, system: frags}]',
      'rules[0].system',
      '"frags"',
    ],
    [
      'a rule about containers that names a metric, and so silences none or all of them',
      'rules: [{rule: container_low, metric: calcium, enabled: false}]',
      'rules[0].metric',
      'metric for container_low',
    ],
    [
      'a rule that is changed into nothing',
      'rules: [{rule: rate, metric: ph}]',
      'rules[0]',
      'rate with nothing to change',
    ],
    [
      'a deadband for what has none',
      'rules: [{rule: silent_probe, deadband: 2}]',
      'rules[0].deadband',
      'deadband for silent_probe',
    ],
    [
      'a rule for a metric without a band',
      'rules: [{rule: rate, system: display, metric: calcium, enabled: false}]',
      'rules[0]',
      'rate, which judges nothing about calcium in "display"',
    ],
    [
      'a rule for a metric that it never judges',
      'rules: [{rule: calcium_alkalinity_out_of_step, metric: alkalinity, enabled: false}]',
      'rules[0]',
      'calcium_alkalinity_out_of_step, which judges nothing about alkalinity in any system',
    ],
    [
      'a server of version 2 without its bucket',
      'influx: {url: "http://192.0.2.1", org: o}',
      'influx.bucket',
      'nothing',
    ],
    ['a server of version 2 without its org', 'influx: {url: "http://192.0.2.1", bucket: b}', 'influx.org', 'nothing'],
    [
      'a server of version 1 without its database',
      'influx: {url: "http://192.0.2.1", api: v1, org: o, bucket: b}',
      'influx.database',
      'nothing',
    ],
    [
      'a secret in two places, of which one is stale',
      'mqtt: {password_env: A, password_file: /b}',
      'mqtt.password_file',
      'both',
    ],
    [
      'a certificate that cannot be read',
      'mqtt: {ca_file: /etc/ca.pem}',
      'mqtt.ca_file',
      '"/etc/ca.pem", which cannot be read or is empty',
    ],
  ])('%s is told', (_name, lines, path, found) => {
    expect(only(lines)).toMatchObject({ path, found });
  });

  test.each([
    ['upside down', 'temperature: {low: 26.5, high: 25}', 'temperature.low', 'a number below high (25 °C)'],
    ['of no width', 'temperature: {low: 25, high: 25}', 'temperature.low', 'a number below high (25 °C)'],
    ['in °F', 'temperature: {low: 25, high: 79}', 'temperature.high', 'what water in an aquarium can be: -5 to 60 °C'],
    [
      'in mg/L CaCO3',
      'alkalinity: {low: 7.5, high: 145}',
      'alkalinity.high',
      'what water in an aquarium can be: 0 to 30 dKH',
    ],
    [
      'in specific gravity',
      'specific_gravity: {low: 1.024, high: 1026}',
      'specific_gravity.high',
      'what water in an aquarium can be: 0.98 to 1.06',
    ],
    ['below nothing', 'nitrate: {low: -1, high: 5}', 'nitrate.low', 'what water in an aquarium can be: 0 to 500 mg/L'],
  ])('a band %s is told, since its alarm would never stop or never come', (_name, band, path, need) => {
    expect(only(`  - {id: q, name: Q, volume_l: 9, bands: {${band}}}`)).toMatchObject({
      path: `systems[1].bands.${path}`,
      need,
    });
  });

  test.each([
    [
      'a bought solution that says nothing of its strength',
      'stocks: [{id: s, name: S, substance: own_strength, raises: calcium}]',
      'stocks[0].raises_100_l_by_per_ml',
    ],
    [
      'a bought solution that says not what it raises',
      'stocks: [{id: s, name: S, substance: own_strength, raises_100_l_by_per_ml: 1}]',
      'stocks[0].raises',
    ],
    [
      'a plan in millilitres of a dry powder',
      'stocks: [{id: s, name: S, substance: sodium_carbonate}], standing_plan: [{stock: s, ml_per_day: 5}]',
      'standing_plan[0].stock',
    ],
    ['a plan of a stock that is not there', 'standing_plan: [{stock: s, ml_per_day: 5}]', 'standing_plan[0].stock'],
    [
      'two stocks of one id',
      'stocks: [{id: s, name: S, substance: sodium_carbonate}, {id: s, name: T, substance: sodium_carbonate}]',
      'stocks[1].id',
    ],
    [
      'a reactor whose effluent nobody tested',
      'stocks: [{id: s, name: S, substance: calcium_reactor}]',
      'stocks[0].effluent',
    ],
    [
      'an effluent no stronger than the tank',
      'stocks: [{id: s, name: S, substance: calcium_reactor, effluent: {alkalinity_dkh: 8}}]',
      'stocks[0].effluent.alkalinity_dkh',
    ],
    [
      'soda as lime water',
      'stocks: [{id: s, name: S, substance: sodium_carbonate, grams_per_litre: 50, top_off: {evaporation_l_per_day: 2}}]',
      'stocks[0].top_off',
    ],
    ['a hand test of what only a probe can tell', 'test_every_days: {orp: 3}', 'test_every_days.orp'],
  ])('%s is told', (_name, keys, path) => {
    expect(only(`  - {id: q, name: Q, volume_l: 9, bands: {}, ${keys}}`).path).toBe(`systems[1].${path}`);
  });

  test.each(['Europe/Lisboa', '+01:00', 'Lisbon time', ''])('the time zone "%s" is refused', (timezone) => {
    const problems = problemsOf(smallest.replace('Europe/Lisbon', `"${timezone}"`));
    expect(problems.map(({ path }) => path)).toEqual(['site.timezone']);
  });
});

describe('warnings', () => {
  test('a conductivity probe without any temperature gives no salinity: told, and yet the hub starts', () => {
    const conductivity = 'probes:\n  - {id: c, system: display, metric: conductivity, mqtt: {topic: c}}';
    expect(warningsOf(conductivity)).toEqual([
      'config.yaml:12 probes[0]: found a conductivity probe alone, need a temperature probe in display: without one no salinity is computed.',
    ]);
    expect(warningsOf(`${conductivity}\n${t1}`)).toEqual([]);
    expect(warningsOf(`${conductivity}\n${t1}\n${t1.replaceAll('t1', 't2')}`)[0]).toContain('2 temperature probes');
  });

  test('a standing plan above the day limit of its stock is told', () => {
    const stock = '{id: s, name: S, substance: sodium_carbonate, grams_per_litre: 50, most_ml_per_day_per_100_l: 10}';
    const system = (ml: number) =>
      `  - {id: q, name: Q, volume_l: 200, bands: {}, stocks: [${stock}], standing_plan: [{stock: s, ml_per_day: ${ml}}, {stock: s, ml_per_day: 10}]}`;
    expect(warningsOf(system(10))).toEqual([]);
    expect(warningsOf(system(11))[0]).toContain('found 21 mL a day, need at most 20 mL a day');
  });
});

test('a wrong id of a system does not also make its probes strangers', () => {
  const text = `${smallest.replace('id: display', 'id: Display Tank')}probes:\n${t1}\n`;
  expect(problemsOf(text).map(({ path }) => path)).toEqual(['systems[0].id']);
});
