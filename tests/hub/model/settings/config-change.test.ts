import { describe, expect, test } from 'vitest';
import { parse } from 'yaml';
import { changedText, differenceOf } from '#hub/model/settings/config-change.ts';
import { configChangeSchema } from '#hub/model/settings/config-change-schema.ts';

const text = `# The room of Ana: keep the order.
site: {name: Fish room, timezone: Europe/Lisbon}
systems:
  - id: display
    name: Display tank        # in the hall
    volume_l: 420
    bands:
      temperature: {low: 25.0, high: 26.5, most_per_hour: 0.5}
      alkalinity:  {low: 7.5,  high: 9.0}   # as the corals like it
    stocks:
      - id: soda
        name: "Soda"
        substance: sodium_carbonate
        grams_per_litre: 50
# The boards.
probes:
  - {id: t1, system: display, metric: temperature, mqtt: {topic: t1}}
`;

describe('a change of the file by the page', () => {
  test('takes more of the file along than the one number, or loses a comment or its columns', () => {
    const changed = changedText(text, [
      { path: 'systems.display.bands.alkalinity.high', value: 9.5 },
      { path: 'systems.display.volume_l', value: 400 },
      { path: 'systems.display.stocks.soda.grams_per_litre', value: 60.5 },
    ]);
    expect(changed).toBe(
      text
        .replace('high: 9.0}', 'high: 9.5}')
        .replace('volume_l: 420', 'volume_l: 400')
        .replace('grams_per_litre: 50', 'grams_per_litre: 60.5'),
    );
    expect(differenceOf(text, changed)).toEqual([
      { is: 'out', line: 6, text: '    volume_l: 420' },
      { is: 'in', line: 6, text: '    volume_l: 400' },
      { is: 'out', line: 9, text: '      alkalinity:  {low: 7.5,  high: 9.0}   # as the corals like it' },
      { is: 'in', line: 9, text: '      alkalinity:  {low: 7.5,  high: 9.5}   # as the corals like it' },
      { is: 'out', line: 14, text: '        grams_per_litre: 50' },
      { is: 'in', line: 14, text: '        grams_per_litre: 60.5' },
    ]);
  });

  test('a key that is new, or taken out, costs the comments', () => {
    const changed = changedText(text, [
      { path: 'systems.display.bands.calcium.low', value: 400 },
      { path: 'systems.display.bands.calcium.high', value: 450 },
      { path: 'systems.display.test_every_days.alkalinity', value: 2 },
      { path: 'systems.display.bands.temperature.most_per_hour', value: null },
      { path: 'probes.t1.name', value: 'Left sump' },
      { path: 'notices.quiet_hours.low.from', value: '21:00' },
    ]);
    for (const comment of ['# The room of Ana', '# in the hall', '# as the corals like it', '# The boards.'])
      expect(changed).toContain(comment);
    const before = parse(text) as { systems: Record<string, unknown>[]; probes: object[] };
    const [display] = before.systems;
    expect(parse(changed)).toEqual({
      ...before,
      systems: [
        {
          ...display,
          bands: {
            temperature: { low: 25, high: 26.5 },
            alkalinity: { low: 7.5, high: 9 },
            calcium: { low: 400, high: 450 },
          },
          test_every_days: { alkalinity: 2 },
        },
      ],
      probes: [{ ...before.probes[0], name: 'Left sump' }],
      notices: { quiet_hours: { low: { from: '21:00' } } },
    });
  });

  test.each([
    'http.host',
    'mqtt.url',
    'mqtt.password_env',
    'broker.users',
    'influx.token_env',
    'data_dir',
    'systems.display.id',
    'systems.display.bands.alkalinity',
    'systems.display.stocks.soda.substance',
    'probes.t1.mqtt.topic',
    'notices.quiet_hours.high.from',
    'systems.display.bands.__proto__.low',
    'systems.display.name.x',
    'xsystems.display.name',
  ])('the page may change %s', (path) => {
    expect(configChangeSchema.safeParse({ path, value: 1 }).success).toBe(false);
  });

  test('a name breaks out of its place in the file', () => {
    const name = 'x"}\nhttp: {host: 0.0.0.0}\n# ';
    const changed = changedText(text, [{ path: 'systems.display.name', value: name }]);
    const read = parse(changed) as { systems: { name: string }[]; http?: unknown };
    expect(read.systems[0]?.name).toBe(name);
    expect(read.http).toBeUndefined();
  });

  test('an entry that is gone from the file is changed elsewhere', () => {
    expect(() => changedText(text, [{ path: 'systems.sump.volume_l', value: 1 }])).toThrow(/no entry "sump"/);
  });
});
