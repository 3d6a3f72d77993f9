import { OutOfRange, within } from '../quantity/out-of-range.ts';
import { rootInBracket } from './bracketed-root.ts';
import { ipts68FromIts90 } from './temperature-scale.ts';

/**
 * Practical salinity (PSS-78) at the surface, its low-salinity extension and its inverse.
 *
 * Everything here is written with the square root of the ratio Rt = C(S,t,0) / C(35,t,0), since PSS-78 is a polynomial in
 * that root. Rt must not be taken for R = C(S,t,0) / C(35,15,0): the two are linked by rt(t).
 */

/** Conductivity of S = 35 seawater at 15 °C IPTS-68 and one atmosphere, mS/cm. Culkin & Smith 1980; used by TEOS-10. */
export const standardSeawaterConductivity_mS_cm = 42.914;

/** PSS-78, Lewis 1980, UNESCO 44 (1983): coefficients of (root of Rt)^0..5 at 15 °C; they add up to 35. */
const a: Coefficients = [0.008, -0.1692, 25.3851, 14.0941, -7.0261, 2.7081];

/** PSS-78: the same for the part that vanishes at 15 °C; they add up to 0. */
const b: Coefficients = [0.0005, -0.0056, -0.0066, -0.0375, 0.0636, -0.0144];

/** PSS-78: factor of (t68 - 15) in the denominator of the temperature part, 1/°C. */
const k_per_C = 0.0162;

/** PSS-78: rt = C(35,t,0) / C(35,15,0) as a polynomial in t68, °C^0..4. */
const c = [0.6766097, 2.00564e-2, 1.104259e-4, -6.9698e-7, 1.0031e-9] as const;

type Coefficients = readonly [number, number, number, number, number, number];

/** Where PSS-78 holds. @source UNESCO technical papers in marine science 44 (1983) */
const lowestTemperature_C = -2;
const highestTemperature_C = 35;
const highestSalinity = 42;
/** Above this PSS-78 alone holds; below it Hill's correction joins in. */
const joint = 2;
/** A salinity made from the inverse of 0 or 42 may miss the edge by rounding; this much is let through, unchanged. */
const roundingMargin = 1e-9;

/**
 * Practical salinity of seawater from its conductivity: PSS-78, below 2 by Hill, Dauphinee & Woods (1986) as TEOS-10
 * rescales it, so without a step at 2.
 *
 * @param conductivity_mS_cm  at the water's own temperature (not referred to 25 °C), above 0, mS/cm
 * @param temperature_C  ITS-90 (turned into IPTS-68 inside), from -2 to 35 °C
 * @returns practical salinity, no unit, from 0 to 42. Below about 2 µS/cm Hill's formula falls under 0: no salinity
 * @throws OutOfRange  for an input or a result outside these limits
 * @source UNESCO technical papers in marine science 44 (1983); Hill, Dauphinee & Woods 1986, IEEE J. Oceanic Eng. 11:109;
 *   the factor at 2: TEOS-10 manual (IOC 2010). Checked against fixtures/reference/seawater-practical-salinity.csv
 */
export function practicalSalinityFromConductivity(conductivity_mS_cm: number, temperature_C: number): number {
  const t68 = checkedIpts68(temperature_C);
  return allowedSalinity(salinityFromRoot(rootOfRatio(conductivity_mS_cm, t68), t68));
}

/**
 * Conductivity of seawater at the surface from its practical salinity: the inverse of practicalSalinityFromConductivity.
 *
 * @param practicalSalinity  no unit, from 0 to 42. At 0 it gives the conductivity (about 2 µS/cm) where Hill's formula is 0
 * @param temperature_C  ITS-90, from -2 to 35 °C
 * @returns conductivity at that temperature, mS/cm
 * @throws OutOfRange  for an input outside these limits
 * @source as practicalSalinityFromConductivity, solved by halving a bracket to the last place of a double
 */
export function conductivityFromPracticalSalinity(practicalSalinity: number, temperature_C: number): number {
  const t68 = checkedIpts68(temperature_C);
  const salinity = within('practical salinity', practicalSalinity, 0, highestSalinity);
  const salinityAt = salinity < joint ? scaledHill(t68) : (root: number) => pss78FromRoot(root, t68);
  const root = rootInBracket(
    'root of the conductivity ratio',
    (place) => salinityAt(place) - salinity,
    lowestRoot,
    1.2,
  );
  return root * root * conductivityAt35_mS_cm(t68);
}

/**
 * Below this root Hill's formula turns round (it is negative there and comes back to 0 at no conductivity at all), so the
 * inverse looks above it: 0.004 is left of the zero and right of the lowest point at every temperature from -2 to 35 °C.
 */
const lowestRoot = 0.004;

function checkedIpts68(temperature_C: number): number {
  return ipts68FromIts90(within('temperature, °C', temperature_C, lowestTemperature_C, highestTemperature_C));
}

function allowedSalinity(salinity: number): number {
  if (!(salinity >= -roundingMargin && salinity <= highestSalinity + roundingMargin)) {
    throw new OutOfRange('practical salinity', salinity, `0 to ${highestSalinity}`);
  }
  return salinity;
}

function rootOfRatio(conductivity_mS_cm: number, t68: number): number {
  if (!(conductivity_mS_cm > 0 && conductivity_mS_cm < Number.POSITIVE_INFINITY)) {
    throw new OutOfRange('conductivity, mS/cm', conductivity_mS_cm, 'above 0');
  }
  return Math.sqrt(conductivity_mS_cm / conductivityAt35_mS_cm(t68));
}

/** Conductivity of S = 35 seawater at a temperature, mS/cm: C(35,15,0) rt. */
function conductivityAt35_mS_cm(t68: number): number {
  const rt = c[0] + t68 * (c[1] + t68 * (c[2] + t68 * (c[3] + t68 * c[4])));
  return standardSeawaterConductivity_mS_cm * rt;
}

/** (t68 - 15) / (1 + k (t68 - 15)), the weight of the temperature part of PSS-78. */
function temperatureWeight(t68: number): number {
  return (t68 - 15) / (1 + k_per_C * (t68 - 15));
}

function pss78FromRoot(root: number, t68: number): number {
  const weight = temperatureWeight(t68);
  return a.reduceRight((sum, coefficient, power) => sum * root + (coefficient + weight * b[power]!), 0);
}

/** Hill, Dauphinee & Woods 1986, unscaled. Its x and y are 400 and 100 times Rt itself, not its root. */
function hillFromRoot(root: number, t68: number): number {
  const x = 400 * root * root;
  const sqrtY = 10 * root;
  const partX = 1 + x * (1.5 + x);
  const partY = 1 + sqrtY * (1 + sqrtY * (1 + sqrtY));
  return pss78FromRoot(root, t68) - a[0] / partX - (b[0] * temperatureWeight(t68)) / partY;
}

/** Hill's formula with the factor of TEOS-10 that makes it give 2 where PSS-78 gives 2, at this temperature. */
function scaledHill(t68: number): (root: number) => number {
  const rootAtJoint = rootInBracket(
    'root of the conductivity ratio at salinity 2',
    (place) => pss78FromRoot(place, t68) - joint,
    0.1,
    1,
  );
  const scale = joint / hillFromRoot(rootAtJoint, t68);
  return (root) => scale * hillFromRoot(root, t68);
}

// The branch is chosen by the value of PSS-78, not of Hill's formula, as TEOS-10 does: the two give 2 at the same place.
function salinityFromRoot(root: number, t68: number): number {
  const pss78 = pss78FromRoot(root, t68);
  return pss78 >= joint ? pss78 : scaledHill(t68)(root);
}
