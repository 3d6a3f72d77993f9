import { within } from '../quantity/out-of-range.ts';
import { kelvinFromCelsius } from './temperature-scale.ts';

/**
 * Equilibrium constants of the acids and bases of seawater at one atmosphere, per kg of seawater, one function each, as
 * Dickson, Sabine & Christian 2007 (Guide to best practices for ocean CO2 measurements, chapter 5) give them unless a
 * function says otherwise. Each takes practical salinity (no unit) and temperature (°C), states its pH scale and range,
 * and throws OutOfRange outside it. Checked against fixtures/reference/carbonate-constants.csv.
 */

type Range = readonly [low: number, high: number];

/** Checks both inputs against a source's range and gives the temperature in K. */
export function kelvinWithin(
  practicalSalinity: number,
  temperature_C: number,
  salinities: Range,
  celsius: Range,
): number {
  within('practical salinity', practicalSalinity, ...salinities);
  return kelvinFromCelsius(within('temperature, °C', temperature_C, ...celsius));
}

/**
 * First dissociation constant of carbonic acid, [H][HCO3]/[CO2*], mol/kg, total scale.
 * Salinity 19 to 43, 2 to 35 °C. @source Lueker, Dickson & Keeling 2000, Marine Chemistry 70:105
 */
export function carbonicK1Lueker2000(practicalSalinity: number, temperature_C: number): number {
  const T = kelvinWithin(practicalSalinity, temperature_C, [19, 43], [2, 35]);
  const S = practicalSalinity;
  return 10 ** -(3633.86 / T - 61.2172 + 9.6777 * Math.log(T) - 0.011555 * S + 0.0001152 * S * S);
}

/**
 * Second dissociation constant of carbonic acid, [H][CO3]/[HCO3], mol/kg, total scale.
 * Salinity 19 to 43, 2 to 35 °C. @source Lueker, Dickson & Keeling 2000, Marine Chemistry 70:105
 */
export function carbonicK2Lueker2000(practicalSalinity: number, temperature_C: number): number {
  const T = kelvinWithin(practicalSalinity, temperature_C, [19, 43], [2, 35]);
  const S = practicalSalinity;
  return 10 ** -(471.78 / T + 25.929 - 3.16967 * Math.log(T) - 0.01781 * S + 0.0001122 * S * S);
}

/**
 * Dissociation constant of boric acid, [H][B(OH)4]/[B(OH)3], mol/kg, total scale.
 * Salinity 5 to 45, 0 to 45 °C (limits from memory). @source Dickson 1990, Deep-Sea Research 37:755
 */
export function boricKbDickson1990(practicalSalinity: number, temperature_C: number): number {
  const T = kelvinWithin(practicalSalinity, temperature_C, [5, 45], [0, 45]);
  const S = practicalSalinity;
  const rootS = Math.sqrt(S);
  return Math.exp(
    (-8966.9 - 2890.53 * rootS - 77.942 * S + 1.728 * S * rootS - 0.0996 * S * S) / T +
      (148.0248 + 137.1942 * rootS + 1.62142 * S) +
      (-24.4344 - 25.085 * rootS - 0.2474 * S) * Math.log(T) +
      0.053105 * rootS * T,
  );
}

/**
 * Ion product of water, [H][OH], mol²/kg², SEAWATER scale: the published form, constant 148.9802.
 * Salinity 5 to 45, 0 to 45 °C (limits from memory, narrowed). @source Millero 1995, Geochim. Cosmochim. Acta 59:661
 */
export function waterKwMillero1995(practicalSalinity: number, temperature_C: number): number {
  return waterKw(practicalSalinity, temperature_C, 148.9802);
}

function waterKw(practicalSalinity: number, temperature_C: number, constant: number): number {
  const T = kelvinWithin(practicalSalinity, temperature_C, [5, 45], [0, 45]);
  const lnT = Math.log(T);
  return Math.exp(
    constant -
      13847.26 / T -
      23.6521 * lnT +
      (-5.977 + 118.67 / T + 1.0495 * lnT) * Math.sqrt(practicalSalinity) -
      0.01615 * practicalSalinity,
  );
}

/** Ionic strength of seawater, mol per kg of water. @source Dickson, Sabine & Christian 2007, chapter 5 */
function ionicStrength_mol_kg(practicalSalinity: number): number {
  return (19.924 * practicalSalinity) / (1000 - 1.005 * practicalSalinity);
}

/** Mass share of water in seawater, which turns mol per kg of water into mol per kg of seawater. Same source. */
function waterShare(practicalSalinity: number): number {
  return 1 - 0.001005 * practicalSalinity;
}

/**
 * Dissociation constant of bisulfate, [H][SO4]/[HSO4], mol/kg, free scale.
 * Salinity 5 to 45, 0 to 45 °C (limits from memory). @source Dickson 1990, J. Chem. Thermodynamics 22:113
 */
export function bisulfateKsDickson1990(practicalSalinity: number, temperature_C: number): number {
  const T = kelvinWithin(practicalSalinity, temperature_C, [5, 45], [0, 45]);
  const lnT = Math.log(T);
  const I = ionicStrength_mol_kg(practicalSalinity);
  return (
    Math.exp(
      -4276.1 / T +
        141.328 -
        23.093 * lnT +
        (-13856 / T + 324.57 - 47.986 * lnT) * Math.sqrt(I) +
        (35474 / T - 771.54 + 114.723 * lnT) * I -
        (2698 / T) * I * Math.sqrt(I) +
        (1776 / T) * I * I,
    ) * waterShare(practicalSalinity)
  );
}

/**
 * Dissociation constant of hydrogen fluoride, [H][F]/[HF], mol/kg, free scale. The one used here.
 * Salinity 10 to 45, 5 to 35 °C (limits from memory). @source Dickson & Riley 1979, Marine Chemistry 7:89
 */
export function fluorideKfDicksonRiley1979(practicalSalinity: number, temperature_C: number): number {
  const T = kelvinWithin(practicalSalinity, temperature_C, [10, 45], [5, 35]);
  const I = ionicStrength_mol_kg(practicalSalinity);
  return Math.exp(1590.2 / T - 12.641 + 1.525 * Math.sqrt(I)) * waterShare(practicalSalinity);
}
