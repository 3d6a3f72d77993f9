import type { JournalEntry } from '#adapters/ports/store.ts';
import type { DemandAnalyte } from '#rules/trend/demand-facts.ts';
import type { DemandEvidence } from '#rules/trend/demand-filter.ts';
import type { SystemConfig } from '../config/schema.ts';
import { risesFromStock, risesOfDose } from './dose-rise.ts';

export type DatedEvidence = { timeMs: number; evidence: DemandEvidence };

const dayMs = 86_400_000;
const waterColumns = { alkalinity: 'alkalinity_dkh', calcium: 'calcium_mg_l', magnesium: 'magnesium_mg_l' } as const;

/** At the same moment a test counts before a dose, and a dose before a water change. */
const order: Record<DemandEvidence['is'], number> = { test: 0, dose: 1, water_change: 2, step_expected: 3 };

function evidenceOf(system: SystemConfig, analyte: DemandAnalyte, entry: JournalEntry): DemandEvidence | undefined {
  const { body } = entry;
  switch (entry.kind) {
    case 'test':
      return body['analyte'] === analyte && typeof body['value'] === 'number'
        ? { is: 'test', value: body['value'], ...(typeof body['sd'] === 'number' ? { sd: body['sd'] } : {}) }
        : undefined;
    case 'dose': {
      const rise = risesOfDose(system, body)[analyte] ?? 0;
      return rise === 0 ? undefined : { is: 'dose', rise };
    }
    case 'water_change': {
      const litres = Number(body['volume_l']);
      const newLevel = body[waterColumns[analyte]];
      return {
        is: 'water_change',
        share: Math.min(1, litres / system.volume_l),
        ...(typeof newLevel === 'number' ? { newLevel } : {}),
      };
    }
    case 'arrival':
      return { is: 'step_expected' };
    default:
      return undefined;
  }
}

/** What the standing plan of the system raises in a day: assumed done until told otherwise. */
export function plannedRisePerDay(system: SystemConfig, analyte: DemandAnalyte): number {
  return system.standing_plan.reduce((sum, plan) => {
    const stock = system.stocks.find((each) => each.id === plan.stock);
    return stock === undefined ? sum : sum + (risesFromStock(stock, plan.ml_per_day, system.volume_l)[analyte] ?? 0);
  }, 0);
}

/** The plan's doses, a quarter of a day apart, which is finer than any test can tell. */
function plannedDoses(system: SystemConfig, analyte: DemandAnalyte, fromMs: number, toMs: number): DatedEvidence[] {
  const rise = plannedRisePerDay(system, analyte) / 4;
  if (rise === 0) return [];
  const doses: DatedEvidence[] = [];
  for (let timeMs = fromMs + dayMs / 8; timeMs < toMs; timeMs += dayMs / 4) {
    doses.push({ timeMs, evidence: { is: 'dose', rise } });
  }
  return doses;
}

/**
 * What is known of one analyte of a system, for the demand filter, oldest first.
 *
 * @param entries  of the system, any kind, any order; withdrawn and corrected ones left out
 */
export function demandEvidenceOf(
  system: SystemConfig,
  analyte: DemandAnalyte,
  entries: readonly JournalEntry[],
  nowMs: number,
): DatedEvidence[] {
  const known = entries.flatMap((entry): DatedEvidence[] => {
    const evidence = evidenceOf(system, analyte, entry);
    return evidence === undefined || entry.timeMs > nowMs ? [] : [{ timeMs: entry.timeMs, evidence }];
  });
  const firstTestMs = Math.min(...known.filter(({ evidence }) => evidence.is === 'test').map(({ timeMs }) => timeMs));
  if (Number.isFinite(firstTestMs)) known.push(...plannedDoses(system, analyte, firstTestMs, nowMs));
  return known.sort((a, b) => a.timeMs - b.timeMs || order[a.evidence.is] - order[b.evidence.is]);
}

/**
 * What a day of dosing raises now: by the standing plan, or where there is none by the doses entered in the last week.
 *
 * @param entries  of the system, any kind, any order
 */
export function currentRisePerDay(
  system: SystemConfig,
  analyte: DemandAnalyte,
  entries: readonly JournalEntry[],
  nowMs: number,
): number {
  const planned = plannedRisePerDay(system, analyte);
  if (planned > 0) return planned;
  const week = entries.filter(({ kind, timeMs }) => kind === 'dose' && timeMs > nowMs - 7 * dayMs && timeMs <= nowMs);
  return week.reduce((sum, { body }) => sum + (risesOfDose(system, body)[analyte] ?? 0), 0) / 7;
}
