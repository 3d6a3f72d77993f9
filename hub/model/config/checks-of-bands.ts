import { adviceFacts } from '#rules/dosing/advice-facts.ts';
import { defaultChecks } from '#rules/quality/default-checks.ts';
import { isAnalyte, isMetric, type Metric, metricFacts } from '#rules/quantity/metric.ts';
import type { DemandAnalyte } from '#rules/trend/demand-facts.ts';
import type { ConfigPath, Finding } from './config-problem.ts';
import type { CrossFindings } from './known-ids.ts';
import { unitAt } from './schema-words.ts';
import type { SoundParts } from './sound-parts.ts';

type SoundBand = {
  low?: number | undefined;
  high?: number | undefined;
  most_per_hour?: number | undefined;
  most_per_day?: number | undefined;
};

/** Bands upside down or in another unit, and tests asked for that nobody can do. */
export function bandFindings(config: SoundParts): CrossFindings {
  const problems: Finding[] = [];
  const warnings: Finding[] = [];
  for (const [index, system] of (config.systems ?? []).entries()) {
    for (const [metric, band] of Object.entries(system?.bands ?? {})) {
      if (band === undefined || !isMetric(metric)) continue;
      const path = ['systems', index, 'bands', metric];
      problems.push(...edgesOutside(path, band, metric), ...upsideDown(path, band));
      warnings.push(...paceFindings(path, band), ...fastFindings(path, band, metric));
    }
    for (const metric of Object.keys(system?.test_every_days ?? {})) {
      if (!isMetric(metric) || isAnalyte(metric)) continue;
      problems.push({
        path: ['systems', index, 'test_every_days', metric],
        isAboutKey: true,
        found: `${metricFacts[metric].label}, which only a probe or a formula gives`,
        need: 'a metric that is tested by hand',
      });
    }
  }
  return { problems, warnings };
}

/** An edge that every reading beyond it would fail its gross range test: a wrong unit or a slipped decimal point. */
function edgesOutside(path: ConfigPath, band: SoundBand, metric: Metric): Finding[] {
  const { failBelow = Number.NEGATIVE_INFINITY, failAbove = Number.POSITIVE_INFINITY } = defaultChecks(metric);
  const findings: Finding[] = [];
  for (const edge of ['low', 'high'] as const) {
    const found = band[edge];
    if (found === undefined || (found >= failBelow && found <= failAbove)) continue;
    const unit = withUnit([...path, edge]);
    findings.push({
      path: [...path, edge],
      found: `${found}`,
      need: `what water in an aquarium can be: ${failBelow} to ${failAbove}${unit}`,
      hint: `Is it in another unit? Bands count in ${unit === '' ? 'plain numbers' : unit.trim()}.`,
    });
  }
  return findings;
}

function upsideDown(path: ConfigPath, band: SoundBand): Finding[] {
  const { low, high } = band;
  if (low === undefined || high === undefined || low < high) return [];
  const unit = withUnit([...path, 'low']);
  return [{ path: [...path, 'low'], found: `${low}${unit}`, need: `a number below high (${high}${unit})` }];
}

function paceFindings(path: ConfigPath, band: SoundBand): Finding[] {
  const { most_per_hour: hour, most_per_day: day } = band;
  if (hour === undefined || day === undefined || hour <= day) return [];
  return [{ path: [...path, 'most_per_hour'], found: `${hour}`, need: `no more in an hour than in a day (${day})` }];
}

/** Twice what advice takes for usual where a band says nothing. */
const fastFactor = 2;

/** A day's change that is far from usual: advice would use it, and corals die of it. */
function fastFindings(path: ConfigPath, { most_per_day: day }: SoundBand, metric: Metric): Finding[] {
  if (day === undefined || !(metric in adviceFacts)) return [];
  const usual = adviceFacts[metric as DemandAnalyte].mostPerDay;
  if (day <= fastFactor * usual) return [];
  const unit = withUnit([...path, 'most_per_day']);
  return [
    {
      path: [...path, 'most_per_day'],
      found: `${day}`,
      need: `about ${usual}${unit}, as is usual: corals die of change that is too fast`,
    },
  ];
}

function withUnit(path: ConfigPath): string {
  const unit = unitAt(path);
  return unit === '' ? '' : ` ${unit}`;
}
