import type { Config } from '../../model/config/schema.ts';

/** Stands in every configuration that does not say another, so that it tells no hub from any other. */
const commonPrefix = 'brinekeep';

/**
 * What tells this hub from others in one time-series database: the prefix of its topics, which is one hub's on one broker;
 * where that was left as it comes, the name of the site.
 */
export function hubName(config: Pick<Config, 'mqtt' | 'site'>): string {
  // Line protocol has no way to write a tag that ends with a backslash.
  return config.mqtt.prefix === commonPrefix
    ? config.site.name.replace(/\\+$/, '') || commonPrefix
    : config.mqtt.prefix;
}
