/**
 * What a person must know before handling a dip and what is in it. The maker's label stands above all of it.
 *
 * @source common practice, no published source
 */
export const dipCautions: readonly string[] = [
  "Read the maker's label first; where it asks for less or for a shorter soak, it overrides this.",
  'Wear gloves and eye protection and ventilate the room.',
  'Never mix products.',
  'Keep reagents and baths away from children and pets.',
  'Zoanthids and some palythoas carry palytoxin: never scrub, cut, boil or heat them without protection.',
  'Keep mains devices, leads and sockets out of splash reach, with residual-current protection and drip loops.',
  'Discard dip water as local rules say, never into the sea, a natural water or the tank.',
];

/** Who to ask when something goes wrong at a dip. */
export const emergencyCaution =
  'If someone feels ill after handling corals or dips: a physician or a poison centre at once. Sick fish: a veterinarian.';
