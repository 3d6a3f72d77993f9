/** The analytes that corals draw down and keepers dose, for which a demand can be told. */
export const demandAnalytes = ['alkalinity', 'calcium', 'magnesium'] as const;

export type DemandAnalyte = (typeof demandAnalytes)[number];

export function isDemandAnalyte(metric: string): metric is DemandAnalyte {
  return (demandAnalytes as readonly string[]).includes(metric);
}

/**
 * What is taken as known of an analyte before the first test of a system. All of it is wide and gives way to the tests.
 * Levels in the analyte's own unit (dKH, or mg/L), demand in that unit a day.
 */
export type DemandFacts = {
  /** Standard deviation of one test by a usual drop or syringe kit, when the test does not state its own. */
  usualTestSd: number;
  /** Standard deviation of a wrong test's error: a slip of the syringe, a bubble, old reagent. */
  outlierSd: number;
  /** Standard deviation of a true jump that nobody logged: a forgotten dose, a spill, a wrong top-up. */
  jumpSd: number;
  /** Demand before anything is known. */
  firstDemand: number;
  firstDemandSd: number;
  /** A demand smaller than this wanders as if it were this large. */
  leastDemand: number;
  /** Level noise that is neither dose nor demand (top-up, skimmed wet), unit for each square root of a day. */
  levelSd: number;
  /** Usual level of new salt water and its spread, for a water change whose water was not tested. */
  newWater: { level: number; sd: number };
};

/**
 * @source common practice, no published source (spread of kits and of new water). Calcium follows alkalinity at 7.147 mg/L
 *   for each dKH (CaCO3; fixtures/reference/dosing-stoichiometry.csv); magnesium at a tenth of calcium or less (from memory).
 */
export const demandFacts: Record<DemandAnalyte, DemandFacts> = {
  alkalinity: {
    usualTestSd: 0.15,
    outlierSd: 1.2,
    jumpSd: 1.5,
    firstDemand: 1,
    firstDemandSd: 2,
    leastDemand: 0.2,
    levelSd: 0.005,
    newWater: { level: 8, sd: 1.5 },
  },
  calcium: {
    usualTestSd: 8,
    outlierSd: 40,
    jumpSd: 25,
    firstDemand: 7,
    firstDemandSd: 14,
    leastDemand: 1.4,
    levelSd: 0.04,
    newWater: { level: 420, sd: 40 },
  },
  magnesium: {
    usualTestSd: 25,
    outlierSd: 120,
    jumpSd: 70,
    firstDemand: 1,
    firstDemandSd: 5,
    leastDemand: 0.3,
    levelSd: 0.1,
    newWater: { level: 1300, sd: 80 },
  },
};
