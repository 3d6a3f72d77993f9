/**
 * Temperature on the scale of 1968 from one on the scale of 1990. PSS-78 and EOS-80 were fitted on the old scale; leaving
 * this step out costs 0.005 in salinity at 25 °C.
 *
 * @param temperature_C  ITS-90, °C, any finite number
 * @returns IPTS-68, °C
 * @source Saunders 1990, WOCE Newsletter 10: t68 = 1.00024 t90, good from -2 to 40 °C
 */
export function ipts68FromIts90(temperature_C: number): number {
  return 1.00024 * temperature_C;
}

/** Thermodynamic temperature, K, from °C. The exact 273.15, not 273: the difference is seen in a pH. */
export function kelvinFromCelsius(temperature_C: number): number {
  return temperature_C + 273.15;
}
