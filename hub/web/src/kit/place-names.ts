/** The views that are loaded when they are opened, by the first part of their address. */
export const placeNames = [
  'corals',
  'water',
  'long-term',
  'probes',
  'titrate',
  'kits',
  'week',
  'log',
  'calculate',
  'settings',
  'configuration',
  'phones',
  'fleet',
  'more',
] as const;

export type Place = (typeof placeNames)[number];

export function isPlace(name: string | undefined): name is Place {
  return placeNames.some((each) => each === name);
}
