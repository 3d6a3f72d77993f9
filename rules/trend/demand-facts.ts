import type { DemandFacts } from '../quantity/analyte-data.ts';
import { isTestedAnalyte, ofEachAnalyte, type TestedAnalyte, testedAnalytes } from '../quantity/analyte-table.ts';

export type { DemandFacts };

/** The analytes that corals draw down and keepers dose, for which a demand can be told. */
export type DemandAnalyte = TestedAnalyte;

export const demandAnalytes: readonly DemandAnalyte[] = testedAnalytes;

export const isDemandAnalyte: (metric: string) => metric is DemandAnalyte = isTestedAnalyte;

export const demandFacts: Record<DemandAnalyte, DemandFacts> = ofEachAnalyte(({ demand }) => demand);
