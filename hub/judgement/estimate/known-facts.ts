import type { DemandAnalyte } from '#rules/trend/demand-facts.ts';
import type { DemandEvidence } from '#rules/trend/demand-filter.ts';
import type { SystemConfig } from '../../model/config/schema.ts';
import { spansOf, systemAt } from '../../model/config/system-at.ts';
import type { BodyOf } from '../../model/journal/bodies.ts';
import { type NewEntry, ofKind } from '../../model/journal/journal.ts';
import { risesFromStock, risesOfDose } from './dose-rise.ts';
import { planNow, planSegments } from './standing-plan.ts';

export type DatedEvidence = { timeMs: number; evidence: DemandEvidence };

const dayMs = 86_400_000;
const waterColumns = { alkalinity: 'alkalinity_dkh', calcium: 'calcium_mg_l', magnesium: 'magnesium_mg_l' } as const;

/** An entry with its place in the journal: of the same moment, what was entered first happened first. */
type PlacedEntry = NewEntry & { id?: number };

/** Doses of the plan come after whatever was entered for the same moment. */
const afterAllEntries = Number.MAX_SAFE_INTEGER;

/** A correction stands in the place of what it corrects. */
const placeOf = ({ corrects, id }: PlacedEntry): number => corrects ?? id ?? 0;

function evidenceOf(now: SystemConfig, analyte: DemandAnalyte, entry: NewEntry): DemandEvidence | undefined {
  const system = systemAt(now, entry.timeMs);
  switch (entry.kind) {
    case 'test':
      return entry.body.analyte === analyte ? testEvidence(entry.body) : undefined;
    case 'dose': {
      const rise = risesOfDose(system, entry.body)[analyte] ?? 0;
      return rise === 0 ? undefined : { is: 'dose', rise };
    }
    case 'water_change': {
      const share = Math.min(1, entry.body.volume_l / system.volume_l);
      const newLevel = entry.body[waterColumns[analyte]];
      return newLevel === undefined ? { is: 'water_change', share } : { is: 'water_change', share, newLevel };
    }
    case 'arrival':
      // Of all that is noted about a batch of corals only its coming changes what is used.
      return entry.body.event === 'arrived' ? { is: 'step_expected' } : undefined;
    default:
      return undefined;
  }
}

function testEvidence({ value, sd }: BodyOf<'test'>): DemandEvidence {
  return sd === undefined ? { is: 'test', value } : { is: 'test', value, sd };
}

function riseOfStock(system: SystemConfig, stockId: string, ml: number, analyte: DemandAnalyte): number {
  const stock = system.stocks.find((each) => each.id === stockId);
  return stock === undefined ? 0 : (risesFromStock(stock, ml, system.volume_l)[analyte] ?? 0);
}

/** What the standing plan of now raises in a day. */
function plannedRisePerDay(
  system: SystemConfig,
  analyte: DemandAnalyte,
  entries: readonly NewEntry[],
  nowMs: number,
): number {
  return planNow(system, entries, nowMs).reduce(
    (sum, { stock, mlPerDay }) => sum + riseOfStock(system, stock, mlPerDay, analyte),
    0,
  );
}

/** The plan's doses, a quarter of a day apart, which is finer than any test can tell. */
function plannedDoses(
  system: SystemConfig,
  analyte: DemandAnalyte,
  entries: readonly NewEntry[],
  fromMs: number,
  nowMs: number,
): DatedEvidence[] {
  const doses: DatedEvidence[] = [];
  for (const segment of planSegments(system, entries, nowMs)) {
    for (let timeMs = Math.max(fromMs, segment.fromMs) + dayMs / 8; timeMs < segment.toMs; timeMs += dayMs / 4) {
      const rise = riseOfStock(systemAt(system, timeMs), segment.stock, segment.mlPerDay / 4, analyte);
      if (rise !== 0) doses.push({ timeMs, evidence: { is: 'dose', rise, isPlanned: true } });
    }
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
  entries: readonly PlacedEntry[],
  nowMs: number,
): DatedEvidence[] {
  const known = entries.flatMap((entry): (DatedEvidence & { place: number })[] => {
    const evidence = evidenceOf(system, analyte, entry);
    if (evidence === undefined || entry.timeMs > nowMs) return [];
    return [{ timeMs: entry.timeMs, evidence, place: placeOf(entry) }];
  });
  const firstTestMs = Math.min(...known.filter(({ evidence }) => evidence.is === 'test').map(({ timeMs }) => timeMs));
  if (Number.isFinite(firstTestMs))
    for (const dose of plannedDoses(system, analyte, entries, firstTestMs, nowMs))
      known.push({ ...dose, place: afterAllEntries });
  return known.sort((a, b) => a.timeMs - b.timeMs || a.place - b.place);
}

/**
 * What a day of dosing raises now: by the standing plan, or where there is none by the doses entered in the last week.
 *
 * @param entries  of the system, any kind, any order
 */
export function currentRisePerDay(
  system: SystemConfig,
  analyte: DemandAnalyte,
  entries: readonly NewEntry[],
  nowMs: number,
): number {
  const planned = plannedRisePerDay(system, analyte, entries, nowMs);
  if (planned > 0) return planned;
  const week = ofKind(entries, 'dose').filter(({ timeMs }) => timeMs > nowMs - 7 * dayMs && timeMs <= nowMs);
  return week.reduce((sum, { body }) => sum + (risesOfDose(system, body)[analyte] ?? 0), 0) / 7;
}

/** The rise that the plan makes in a span. */
export function plannedRiseBetween(
  system: SystemConfig,
  analyte: DemandAnalyte,
  entries: readonly NewEntry[],
  fromMs: number,
  toMs: number,
): number {
  return planSegments(system, entries, toMs).reduce((sum, segment) => {
    const [from, to] = [Math.max(segment.fromMs, fromMs), Math.min(segment.toMs, toMs)];
    if (to <= from) return sum;
    return spansOf(system, from, to).reduce((risen, span) => {
      const ml = (segment.mlPerDay * (span.toMs - span.fromMs)) / dayMs;
      return risen + riseOfStock(span.system, segment.stock, ml, analyte);
    }, sum);
  }, 0);
}

/** The rise by all doses in a span: those entered, and those of the plan. */
export function dosedBetween(
  system: SystemConfig,
  analyte: DemandAnalyte,
  entries: readonly NewEntry[],
  fromMs: number,
  toMs: number,
): number {
  const entered = ofKind(entries, 'dose')
    .filter(({ timeMs }) => timeMs >= fromMs && timeMs <= toMs)
    .reduce((sum, { body, timeMs }) => sum + (risesOfDose(systemAt(system, timeMs), body)[analyte] ?? 0), 0);
  return entered + plannedRiseBetween(system, analyte, entries, fromMs, toMs);
}
