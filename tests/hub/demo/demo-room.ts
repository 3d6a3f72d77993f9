import { type DemoPlace, demoConfig } from '../../../hub/demo/demo-config.ts';
import { loadConfig } from '../../../hub/model/config/load.ts';
import type { Config } from '../../../hub/model/config/schema.ts';

export const examplePlace: DemoPlace = {
  ptyPath: '/tmp/brinekeep-demo/board',
  brokerPort: 18_831,
  httpPort: 18_740,
  dataDir: '/tmp/brinekeep-demo',
};

/** The demonstration's configuration as the hub reads it; throws with every mistake and warning. */
export function loadedDemoConfig(place = examplePlace): Config {
  const loaded = loadConfig(demoConfig(place), 'demo.yaml', {}, () => {
    throw new Error('the demonstration has no secret');
  });
  if (!loaded.ok) throw new Error(loaded.problems.map(({ text }) => text).join('\n'));
  if (loaded.warnings.length > 0) throw new Error(loaded.warnings.join('\n'));
  return loaded.config;
}
