import type { Config, SystemConfig } from './schema.ts';

/** What held of a system until a time, and no longer: its volume and its stocks. The rest is as it is now. */
export type HeldUntil = { untilMs: number; system: SystemConfig };

/** A system as it is now, with what held before; oldest first. */
export type SystemOverTime = SystemConfig & { past?: readonly HeldUntil[] };

/** What of a system a dose of the past must be reckoned with. Stocks are not known of a time before they were noted. */
export type Holding = Pick<SystemConfig, 'volume_l'> & { stocks?: SystemConfig['stocks'] | undefined };

/** What was in force from a time on, by system; oldest first. */
export type HeldFrom = { fromMs: number; systems: ReadonlyMap<string, Holding> };

/**
 * The configuration with what held before it: a changed volume, stock or strength holds from its time on, and what was dosed
 * before keeps what held then.
 *
 * @param seen   what earlier starts of the hub have noted
 * @param nowMs  from when on the configuration holds where it is another than the last that was noted
 */
export function withPast(config: Config, seen: readonly HeldFrom[], nowMs: number): Config {
  return {
    ...config,
    systems: config.systems.map((system): SystemOverTime => {
      const past = seen.flatMap(({ systems }, index): HeldUntil[] => {
        const held = systems.get(system.id);
        const untilMs = seen[index + 1]?.fromMs ?? nowMs;
        if (held === undefined) return [];
        return [{ untilMs, system: { ...system, volume_l: held.volume_l, stocks: held.stocks ?? system.stocks } }];
      });
      const changed = past.findLastIndex((each) => !isSame(each.system, system));
      return changed < 0 ? system : { ...system, past: past.slice(0, changed + 1) };
    }),
  };
}

function isSame(one: SystemConfig, other: SystemConfig): boolean {
  const facts = ({ volume_l, stocks }: SystemConfig) => JSON.stringify([volume_l, stocks]);
  return facts(one) === facts(other);
}

/** As it was at a time. The same object each time, so that what was reckoned with it can be kept. */
export function systemAt(system: SystemOverTime, timeMs: number): SystemConfig {
  return system.past?.find(({ untilMs }) => timeMs < untilMs)?.system ?? system;
}

/** The parts of [fromMs, toMs) in each of which one volume and one set of stocks held. */
export function spansOf(
  system: SystemOverTime,
  fromMs: number,
  toMs: number,
): { fromMs: number; toMs: number; system: SystemConfig }[] {
  const edges = (system.past ?? []).map(({ untilMs }) => untilMs).filter((edge) => edge > fromMs && edge < toMs);
  const starts = [fromMs, ...edges];
  return starts.map((start, index) => ({
    ...{ fromMs: start, toMs: starts[index + 1] ?? toMs, system: systemAt(system, start) },
  }));
}
