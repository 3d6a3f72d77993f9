import { expect, test } from 'vitest';
import { tellingName } from '#hub/model/config/probe-name.ts';
import { configSchema } from '#hub/model/config/schema.ts';

const probe = (id: string, metric: string, more: object = {}) => ({
  ...{ id, system: 'display', metric, mqtt: { topic: id } },
  ...more,
});

// A person is shown a name where there is one, and no id that tells nothing more. common practice, no published source
test('a probe is called by an id where a name or what it measures would do, or by no more than another one', () => {
  const config = configSchema.parse({
    ...{ site: { name: 'Invented room' }, data_dir: 'd', weekly: { dir: 'd' }, http: {}, broker: {} },
    systems: [
      { id: 'display', name: 'Display', volume_l: 400, bands: {} },
      { id: 'frags', name: 'Frags', volume_l: 100, bands: {} },
    ],
    probes: [
      probe('t-1', 'temperature', { name: 'Left end' }),
      probe('t-2', 'temperature'),
      probe('ph-1', 'ph'),
      { ...probe('ph-2', 'ph'), system: 'frags' },
    ],
  });
  const of = (id: string, system = 'display') => tellingName(config, system, id);
  expect([of('t-1'), of('t-2'), of('ph-1'), of('ph-2', 'frags'), of('gone')]).toEqual([
    'Left end',
    't-2',
    undefined,
    undefined,
    'gone',
  ]);
});
