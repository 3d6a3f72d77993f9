/** Gives numbers from 0 (included) to 1 (not included). */
export type Random = () => number;

/**
 * A generator whose whole sequence follows from its seed, so that a demo, a recording or a failed test can be repeated.
 * For noise of simulated probes only, never for secrets.
 *
 * @param seed  any whole number; its low 32 bits count
 * @source Weyl sequence with step 0x9e3779b9 and the 32-bit finalizer of MurmurHash3 (public domain), from memory
 */
export function seededRandom(seed: number): Random {
  let place = seed >>> 0;
  return () => {
    place = (place + 0x9e3779b9) >>> 0;
    let mixed = place;
    mixed = Math.imul(mixed ^ (mixed >>> 16), 0x85ebca6b);
    mixed = Math.imul(mixed ^ (mixed >>> 13), 0xc2b2ae35);
    return ((mixed ^ (mixed >>> 16)) >>> 0) / 4294967296;
  };
}

/** A number from the normal distribution of mean 0 and standard deviation 1 (Box and Muller 1958). */
export function gaussian(random: Random): number {
  return Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());
}
