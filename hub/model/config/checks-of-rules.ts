import { type IdleOverride, idleOverride } from '#rules/bands/room-rules.ts';
import type { RuleOverride } from '#rules/bands/watched-room.ts';
import { metricFacts } from '#rules/quantity/metric.ts';
import { type Finding, showFound } from './config-problem.ts';
import { unknownId } from './known-ids.ts';
import type { SystemConfig } from './schema.ts';
import type { SoundParts } from './sound-parts.ts';
import { ruleOverride, watchedBands } from './watched-room.ts';

type SoundRule = NonNullable<NonNullable<SoundParts['rules']>[number]>;

/** Entries of `rules:` about a system that is not there, and such as can have no effect: whoever wrote them believes they do. */
export function ruleFindings(config: SoundParts): Finding[] {
  return (config.rules ?? []).flatMap((rule, index) => {
    if (rule === undefined) return [];
    const unknown = unknownId(rule.system, config.systems, ['rules', index, 'system'], 'system');
    return unknown.length > 0 ? unknown : idleFindings(config, rule, index);
  });
}

function idleFindings(config: SoundParts, rule: SoundRule, index: number): Finding[] {
  const override = soundOverride(rule);
  const systems = soundSystems(config, rule.system);
  if (override === undefined || systems === undefined) return [];
  const idle = idleOverride(override, systems);
  return idle === undefined ? [] : [findingOf(idle, override, index)];
}

/** Undefined while a part of the entry is unreadable: it may be the one that has an effect. */
function soundOverride(rule: SoundRule): RuleOverride | undefined {
  const { rule: kind } = rule;
  return kind === undefined || Object.values(rule).includes(undefined)
    ? undefined
    : ruleOverride({ ...rule, rule: kind });
}

/** The systems that the entry speaks of; undefined while one of them, or a band in it, is unreadable. */
function soundSystems(config: SoundParts, id: string | undefined) {
  const systems = (config.systems ?? []).filter((system) => id === undefined || system?.id === id);
  const sound = systems.flatMap((system) => {
    const bands = Object.values(system?.bands ?? {});
    const isSound = bands.every((band) => band?.low !== undefined && band.high !== undefined);
    if (system?.id === undefined || !isSound) return [];
    const testEveryDays = Object.fromEntries(
      Object.entries(system.test_every_days ?? {}).filter(([, days]) => days !== undefined),
    );
    return {
      id: system.id,
      bands: watchedBands({ bands: (system.bands ?? {}) as SystemConfig['bands'] }),
      testEveryDays,
    };
  });
  return sound.length === 0 || sound.length < systems.length ? undefined : sound;
}

function findingOf(idle: IdleOverride, { rule, system, metric }: RuleOverride, index: number): Finding {
  const path = ['rules', index];
  switch (idle) {
    case 'takes no metric':
      return {
        path: [...path, 'metric'],
        isAboutKey: true,
        found: `metric for ${rule}`,
        need: 'no metric: this rule is about a whole system',
        hint: 'Leave metric out, and name the system if you mean one.',
      };
    case 'changes nothing':
      return {
        path,
        found: `${rule} with nothing to change`,
        need: 'what to change, such as enabled: false or on_delay_minutes',
      };
    case 'has no deadband':
      return {
        path: [...path, 'deadband'],
        isAboutKey: true,
        found: `deadband for ${rule}`,
        need: 'another key: this rule compares nothing with a limit that could have a deadband',
      };
    case 'applies nowhere': {
      const what = metric === undefined ? 'any metric' : metricFacts[metric].label.toLowerCase();
      const where = system === undefined ? 'any system' : showFound(system);
      return {
        path,
        found: `${rule}, which judges nothing about ${what} in ${where}`,
        need: 'an entry that can have an effect',
        hint: 'Give the metric a band there, or take the entry out.',
      };
    }
  }
}
