/** What is taken as known of the water of any reef tank, in one place. */

/**
 * Salinity outside this is taken for a wrong reading: no reef tank stands there, and no change of salt is built on it. Wide, since a tank
 * that truly stands at 27 has to be helped back. Common practice, no published source
 */
export const soundSalinity = { low: 25, high: 42 };

/**
 * Outside this, true or not, no other test is a reason to dose: kits are made for about 35, and what is missing is missing with the salt.
 * Narrower than what is believed, since to hold a dose back is the safe side. Common practice, no published source
 */
export const salinityForDoses = { low: 29, high: 40 };

/** Magnesium below which calcium carbonate precipitates more easily, mg/L. Common practice, no published source */
export const lowMagnesium_mg_L = 1150;

/**
 * Share of the volume that evaporates in a day, and so may come back as a dose or as salt water: 0.005 to 0.02 in warm rooms. Common
 * practice, no published source
 */
export const evaporatedShare = 0.01;

/**
 * Sea water of salinity 35 at 25 °C, kg/L; a percent more or less changes nothing where it is used.
 *
 * @source EOS-80, UNESCO technical papers in marine science 44 (1983)
 */
export const usualDensity_kg_L = 1.0233;
