import type { Config } from './schema.ts';

/**
 * What tells a probe from the others of its tank: its name; without one its id, where another measures the same. Undefined for
 * the only one without a name, which what it measures tells well enough.
 *
 * @param id  as readings carry it; a probe that the configuration no longer has keeps its id
 */
export function tellingName({ probes }: Pick<Config, 'probes'>, system: string, id: string): string | undefined {
  const probe = probes.find((each) => each.id === id && each.system === system);
  if (probe === undefined) return id;
  const alike = probes.filter(({ metric, system: tank }) => metric === probe.metric && tank === system);
  return probe.name ?? (alike.length > 1 ? id : undefined);
}
