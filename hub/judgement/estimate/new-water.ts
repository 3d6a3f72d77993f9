import type { DemandAnalyte } from '#rules/trend/demand-facts.ts';
import type { BodyOf } from '../../model/journal/bodies.ts';

/** What people are asked of new water; of the rest it is taken as usual new water has it. */
const columns: Partial<Record<DemandAnalyte, 'alkalinity_dkh' | 'calcium_mg_l' | 'magnesium_mg_l'>> = {
  alkalinity: 'alkalinity_dkh',
  calcium: 'calcium_mg_l',
  magnesium: 'magnesium_mg_l',
};

/** The level of an analyte in the water of a change, its store unit; undefined where nobody tested it. */
export function newWaterLevel(body: BodyOf<'water_change'>, analyte: DemandAnalyte): number | undefined {
  const column = columns[analyte];
  return column === undefined ? undefined : body[column];
}
