import type { Config, SystemConfig } from './schema.ts';

/** What held of a system until a time, and no longer: its volume, its stocks and its standing plan. The rest is as it is now. */
export type HeldUntil = { untilMs: number; system: SystemConfig };

/** A system as it is now, with what held before; oldest first. */
export type SystemOverTime = SystemConfig & { past?: readonly HeldUntil[] };

/** What of a system a dose of the past must be reckoned with. What was not noted then is taken to be as it is now. */
export type Holding = Pick<SystemConfig, 'volume_l'> & {
  stocks?: SystemConfig['stocks'] | undefined;
  plan?: readonly { stock: string; ml_per_day: number }[] | undefined;
};

/** What was in force from a time on, by system; oldest first. */
export type HeldFrom = { fromMs: number; systems: ReadonlyMap<string, Holding> };

/**
 * The configuration with what held before it: a changed volume, stock, strength or standing plan holds from its time on, and what was dosed
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
        return [{ untilMs, system: asItWas(system, held) }];
      });
      const changed = past.findLastIndex((each) => !isSame(each.system, system));
      return changed < 0 ? system : { ...system, past: past.slice(0, changed + 1) };
    }),
  };
}

function asItWas(system: SystemConfig, { volume_l, stocks = system.stocks, plan }: Holding): SystemConfig {
  // In how many doses a day is asked of the plan of now alone.
  const standing_plan = plan?.map((each) => ({ ...each, times_per_day: 1 })) ?? system.standing_plan;
  return { ...system, volume_l, stocks, standing_plan };
}

function isSame(one: SystemConfig, other: SystemConfig): boolean {
  const facts = ({ volume_l, stocks, standing_plan }: SystemConfig) =>
    JSON.stringify([volume_l, stocks, standing_plan.map(({ stock, ml_per_day }) => [stock, ml_per_day])]);
  return facts(one) === facts(other);
}

/** As it was at a time. The same object each time, so that what was reckoned with it can be kept. */
export function systemAt(system: SystemOverTime, timeMs: number): SystemConfig {
  return system.past?.find(({ untilMs }) => timeMs < untilMs)?.system ?? system;
}

/** The parts of [fromMs, toMs) in each of which one volume, one set of stocks and one plan held. */
export function spansOf(
  system: SystemOverTime,
  fromMs: number,
  toMs: number,
): { fromMs: number; toMs: number; system: SystemConfig }[] {
  const edges = (system.past ?? []).map(({ untilMs }) => untilMs).filter((edge) => edge > fromMs && edge < toMs);
  const starts = [fromMs, ...edges];
  return starts.map((start, index) => ({
    fromMs: start,
    toMs: starts[index + 1] ?? toMs,
    system: systemAt(system, start),
  }));
}
