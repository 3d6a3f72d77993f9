import { dayMs } from '#rules/clock/durations.ts';
import { defined } from '#rules/plain-data/defined.ts';
import { type DemandAnalyte, demandFacts } from '#rules/trend/demand-facts.ts';
import type { DemandEvidence } from '#rules/trend/demand-filter.ts';
import type { SystemConfig } from '../../model/config/schema.ts';
import { spansOf, systemAt } from '../../model/config/system-at.ts';
import type { BodyOf } from '../../model/journal/bodies.ts';
import { type NewEntry, ofKind } from '../../model/journal/journal.ts';
import { risesOfDose, risesPerMl } from './dose-rise.ts';
import { handRhythms } from './hand-rhythms.ts';
import { newWaterLevel } from './new-water.ts';
import { planNow, planSegments } from './standing-plan.ts';

export type DatedEvidence = { timeMs: number; evidence: DemandEvidence };

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
      return entry.body.analyte === analyte ? testEvidence(analyte, entry.body) : undefined;
    case 'dose': {
      const rise = risesOfDose(system, entry.body)[analyte] ?? 0;
      return rise === 0 ? undefined : { is: 'dose', rise };
    }
    case 'water_change': {
      const share = Math.min(1, entry.body.volume_l / system.volume_l);
      const newLevel = newWaterLevel(entry.body, analyte);
      return newLevel === undefined ? { is: 'water_change', share } : { is: 'water_change', share, newLevel };
    }
    case 'arrival':
      // Of all that is noted about a batch of corals only its coming changes what is used.
      return entry.body.event === 'arrived' ? { is: 'step_expected' } : undefined;
    default:
      return undefined;
  }
}

/** A kit that shows nothing shows less than it can. */
function testEvidence(analyte: DemandAnalyte, { value, sd }: BodyOf<'test'>): DemandEvidence {
  const stated = defined({ sd });
  const { detectionLimit } = demandFacts[analyte];
  return detectionLimit !== undefined && value <= 0
    ? { is: 'test', value: detectionLimit, ...stated, isBelow: true }
    : { is: 'test', value, ...stated };
}

function riseOfStock(system: SystemConfig, stockId: string, ml: number, analyte: DemandAnalyte): number {
  const stock = system.stocks.find((each) => each.id === stockId);
  return stock === undefined ? 0 : ml * (risesPerMl(stock, system.volume_l)[analyte] ?? 0);
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

/**
 * What the plan gives, in pieces of at most a quarter of a day, each in the middle of its span. A span also ends at each of `cutsMs` and
 * now, so that the sum up to there is what the plan gave and not a piece more: in a small tank a piece is larger than a test's error.
 *
 * @param cutsMs  times of tests and water changes, any order
 */
function plannedDoses(
  system: SystemConfig,
  analyte: DemandAnalyte,
  entries: readonly NewEntry[],
  cutsMs: readonly number[],
  fromMs: number,
  nowMs: number,
): DatedEvidence[] {
  const cuts = [...new Set(cutsMs)].sort((a, b) => a - b);
  const doses: DatedEvidence[] = [];
  for (const segment of planSegments(system, entries, nowMs)) {
    let startMs = Math.max(fromMs, segment.fromMs);
    let at = cuts.findIndex((cut) => cut > startMs);
    while (startMs < segment.toMs) {
      while (at >= 0 && at < cuts.length && cuts[at]! <= startMs) at += 1;
      const cut = at >= 0 ? (cuts[at] ?? segment.toMs) : segment.toMs;
      const endMs = Math.min(segment.toMs, cut, startMs + dayMs / 4);
      const timeMs = (startMs + endMs) / 2;
      const ml = (segment.mlPerDay * (endMs - startMs)) / dayMs;
      const rise = riseOfStock(systemAt(system, timeMs), segment.stock, ml, analyte);
      if (rise !== 0) doses.push({ timeMs, evidence: { is: 'dose', rise, isPlanned: true } });
      startMs = endMs;
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
  const cutsMs = known.filter(({ evidence }) => evidence.is !== 'dose').map(({ timeMs }) => timeMs);
  if (Number.isFinite(firstTestMs))
    for (const dose of plannedDoses(system, analyte, entries, cutsMs, firstTestMs, nowMs))
      known.push({ ...dose, place: afterAllEntries });
  const first = known.find(({ evidence, timeMs }) => evidence.is === 'test' && timeMs === firstTestMs);
  const plannedPerDay = plannedRisePerDay(system, analyte, entries, firstTestMs);
  if (first?.evidence.is === 'test' && plannedPerDay > 0) first.evidence = { ...first.evidence, plannedPerDay };
  return known.sort((a, b) => a.timeMs - b.timeMs || a.place - b.place);
}

/**
 * What a day of dosing raises now: by the standing plan, and by what is given by hand so regularly that it goes on like one. A single
 * correction is neither.
 *
 * @param entries  of the system, any kind, any order
 */
export function currentRisePerDay(
  system: SystemConfig,
  analyte: DemandAnalyte,
  entries: readonly NewEntry[],
  nowMs: number,
): number {
  const byHand = handRhythms(system, entries, nowMs).reduce((sum, { rises }) => sum + (rises[analyte] ?? 0), 0);
  return plannedRisePerDay(system, analyte, entries, nowMs) + byHand;
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
