import { within } from '../quantity/out-of-range.ts';
import {
  type CarbonateWater,
  carbonateFromAlkalinityAndDic,
  carbonateFromAlkalinityAndPh,
  equilibriumOf,
} from '../seawater/carbonate-system.ts';
import { coefficientAt, phFromAlkalinityAndPco2 } from '../seawater/gas-exchange.ts';

/**
 * What more of a calcium reactor's effluent does to pH in the end. The corals use what they used; more alkalinity comes and keeps the
 * level where it is. Of the carbon that comes with it part takes the place of what the falling level would have set free, and the rest
 * has to leave as carbon dioxide: so much more of it stands in the water as drives it out.
 */
export type FlowWater = CarbonateWater & {
  totalAlkalinity_umol_kg: number;
  /** Lowest of the day, total scale. */
  phTotal: number;
  /** Moles of carbon with each equivalent of the effluent's gain, 0 to 10. */
  carbon_mol_eq: number;
  /** Gas exchange of this tank, 1/h at 25 °C, above 0 to 20; absent: that of a pH which relaxes within a day. */
  coefficient_per_h?: number;
};

/** In which a pH relaxes where nobody knows the gas exchange: slow for a tank with a skimmer. Common practice, no published source */
const usualRelaxation_h = 24;
/** Steps in which the water's own answer to carbon and to alkalinity is read off, µmol/kg. Chosen here: small beside 2000. */
const probeStep_umol_kg = 1;

/** Carbon that has to leave in an hour for each µmol/kg of CO2 above what stood there, and for each µmol/kg a day of more flow. */
function balanceOf(water: FlowWater) {
  const constants = equilibriumOf(water);
  const carbon = within('carbon with each equivalent', water.carbon_mol_eq, 0, 10);
  const now = carbonateFromAlkalinityAndPh(water, constants);
  const co2With = (alkalinity: number, dic: number): number =>
    carbonateFromAlkalinityAndDic(
      {
        ...water,
        totalAlkalinity_umol_kg: water.totalAlkalinity_umol_kg + alkalinity,
        dic_umol_kg: now.dic_umol_kg + dic,
      },
      constants,
    ).co2_umol_kg;
  const half = probeStep_umol_kg / 2;
  const co2PerCarbon = (co2With(0, half) - co2With(0, -half)) / probeStep_umol_kg;
  const co2PerAlkalinity = (co2With(half, 0) - co2With(-half, 0)) / probeStep_umol_kg;
  // Carbon that alkalinity takes up or sets free while the CO2 stays.
  const carbonPerAlkalinity = -co2PerAlkalinity / co2PerCarbon;
  const leavesPerHour =
    water.coefficient_per_h === undefined
      ? 1 / co2PerCarbon / usualRelaxation_h
      : coefficientAt(
          within('coefficient of gas exchange, 1/h', water.coefficient_per_h, 1e-6, 20),
          water.temperature_C,
        );
  return { now, constants, leavesPerHour, excess: (carbon - carbonPerAlkalinity) / 24 };
}

/**
 * Lowest pH of the day once a larger flow has settled.
 *
 * @param extra_umol_kg_day  alkalinity that comes on top of what comes now, 0 to 5000 µmol/kg of tank water a day
 * @returns total scale
 * @throws OutOfRange  outside these limits and those of the carbonate system
 * @source conservation of alkalinity and DIC (Dickson, Sabine & Christian 2007, chapter 2) with the flux of gas-exchange.ts, in steady state
 */
export function settledPhOfFlow(water: FlowWater, extra_umol_kg_day: number): number {
  const extra = within('alkalinity on top, µmol/kg a day', extra_umol_kg_day, 0, 5000);
  const { now, leavesPerHour, excess } = balanceOf(water);
  const co2 = now.co2_umol_kg + (excess * extra) / leavesPerHour;
  return phFromAlkalinityAndPco2(water, (now.pco2_uatm * co2) / now.co2_umol_kg);
}

/**
 * The largest flow on top after which the lowest pH of the day does not go below a limit.
 *
 * @param leastPhTotal  total scale, 6 to 9
 * @returns µmol/kg a day of alkalinity; 0 where the pH is below the limit already, `Infinity` for what brings no carbon to get rid of
 * @throws OutOfRange  outside these limits and those of the carbonate system
 * @source as `settledPhOfFlow`
 */
export function largestFlowAbovePh(water: FlowWater, leastPhTotal: number): number {
  const least = within('lowest pH', leastPhTotal, 6, 9);
  if (water.phTotal <= least) return 0;
  const { now, constants, leavesPerHour, excess } = balanceOf(water);
  if (excess <= 0) return Number.POSITIVE_INFINITY;
  const most = carbonateFromAlkalinityAndPh({ ...water, phTotal: least }, constants).co2_umol_kg;
  return ((most - now.co2_umol_kg) * leavesPerHour) / excess;
}
