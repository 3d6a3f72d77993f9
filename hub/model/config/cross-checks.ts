import { IANAZone } from 'luxon';
import { isMetric } from '#rules/quantity/metric.ts';
import { unitsOf } from '#rules/quantity/unit.ts';
import { isDisplayUnit } from '#rules/words/value-text.ts';
import { accessFindings } from './checks-of-access.ts';
import { bandFindings } from './checks-of-bands.ts';
import { edgeFindings } from './checks-of-edges.ts';
import { probeFindings } from './checks-of-probes.ts';
import { ruleFindings } from './checks-of-rules.ts';
import { stockFindings } from './checks-of-stocks.ts';
import { type ConfigPath, type Finding, showFound } from './config-problem.ts';
import type { CrossFindings, WithId } from './known-ids.ts';
import { nearestWord } from './nearest-word.ts';
import type { Environment, ReadFile } from './secrets.ts';
import type { SoundParts } from './sound-parts.ts';

/** Checks of what one key alone cannot tell, over whatever part of the file is sound. */
export function crossChecks(config: SoundParts, env: Environment, readFile: ReadFile): CrossFindings {
  const parts: CrossFindings[] = [
    {
      problems: [
        ...timezoneFindings(config),
        ...displayUnitFindings(config),
        ...duplicateFindings(config),
        ...ruleFindings(config),
      ],
      warnings: [],
    },
    bandFindings(config),
    stockFindings(config),
    probeFindings(config),
    edgeFindings(config, env, readFile),
    accessFindings(config, env, readFile),
  ];
  return {
    problems: parts.flatMap((part) => part.problems),
    warnings: parts.flatMap((part) => part.warnings),
  };
}

function timezoneFindings(config: SoundParts): Finding[] {
  const timezone = config.site?.timezone;
  // A bare offset such as +01:00 passes for a zone in newer engines, and would be an hour off for half of the year.
  if (timezone === undefined || (IANAZone.isValidZone(timezone) && !/^[+-]/.test(timezone))) return [];
  const nearest = nearestWord(timezone, Intl.supportedValuesOf('timeZone'));
  return [
    {
      path: ['site', 'timezone'],
      found: showFound(timezone),
      need: 'an IANA time zone such as Europe/Lisbon or UTC',
      ...(nearest === undefined ? {} : { hint: `Did you mean ${nearest}?` }),
    },
  ];
}

function displayUnitFindings(config: SoundParts): Finding[] {
  return Object.entries(config.display_units ?? {}).flatMap(([metric, unit]) => {
    if (unit === undefined || !isMetric(metric) || isDisplayUnit(metric, unit)) return [];
    const known = [...unitsOf(metric).filter((each) => each !== ''), ...(metric === 'salinity' ? ['sg'] : [])];
    const need = known.length === 0 ? 'no unit: it is a pure number' : `a unit of ${metric}: ${known.join(', ')}`;
    return [{ path: ['display_units', metric], found: showFound(unit), need }];
  });
}

function duplicateFindings(config: SoundParts): Finding[] {
  return [
    ...duplicates(config.systems, ['systems'], 'system'),
    ...duplicates(config.serial, ['serial'], 'serial port'),
    ...duplicates(config.probes, ['probes'], 'probe'),
    ...(config.systems ?? []).flatMap((system, index) =>
      duplicates(system?.stocks, ['systems', index, 'stocks'], 'stock of this system'),
    ),
  ];
}

function duplicates(entries: readonly WithId[] | undefined, list: ConfigPath, noun: string): Finding[] {
  const firstAt = new Map<string, number>();
  const findings: Finding[] = [];
  for (const [index, entry] of (entries ?? []).entries()) {
    const id = entry?.id;
    if (id === undefined) continue;
    const first = firstAt.get(id);
    if (first === undefined) firstAt.set(id, index);
    else {
      const need = `an id of its own for each ${noun} (${list.at(-1)}[${first}] has it already)`;
      findings.push({ path: [...list, index, 'id'], found: showFound(id), need });
    }
  }
  return findings;
}
