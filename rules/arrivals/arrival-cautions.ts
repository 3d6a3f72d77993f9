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
  'Discard dip water by local rules, never into the sea, natural waters or the tank.',
];

/** Who to ask when something goes wrong at a dip. */
export const emergencyCaution =
  'If someone feels ill after handling corals or dips: a physician or a poison centre at once. Sick fish: a veterinarian.';

/**
 * How corals are kept apart from the others.
 *
 * @source common practice, no published source
 */
export const quarantinePractice: readonly string[] = [
  'Its own tongs, siphon, cloths and test vials, marked, and used nowhere else; else rinse them in fresh water and let them dry.',
  'Tend the quarantine last, and wash your hands before you go back to the others.',
  'None of its water goes into another tank.',
  'It ends only after an inspection that found nothing; what was found starts it again from that day.',
];
