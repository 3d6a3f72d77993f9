import type { ComponentType } from 'preact';
import type { RoomView } from '../../../api/room.ts';
import type { Place } from './place-names.ts';

/** What a view that is loaded on demand is given: the room, and the parts of the address behind its name. */
export type PlaceProps = { view: RoomView; parts: string[] };

type Loaded = { default: ComponentType<PlaceProps> };

/**
 * The views that are loaded when they are opened, by the first part of their address: the first view stays light. Each has a
 * folder, whose view is the default export.
 */
const places = {
  corals: () => import('../corals/corals-view.tsx') as Promise<Loaded>,
  water: () => import('../water/water-view.tsx') as Promise<Loaded>,
  'long-term': () => import('../long-term/long-term-view.tsx') as Promise<Loaded>,
  log: () => import('../log/log-view.tsx') as Promise<Loaded>,
  calculate: () => import('../calculate/calculate-view.tsx') as Promise<Loaded>,
  probes: () => import('../probes/probes-view.tsx') as Promise<Loaded>,
  kits: () => import('../kits/kits-view.tsx') as Promise<Loaded>,
  titrate: () => import('../titrate/titrate-view.tsx') as Promise<Loaded>,
  week: () => import('../week/week-view.tsx') as Promise<Loaded>,
  settings: () => import('../settings/settings-view.tsx') as Promise<Loaded>,
  configuration: () => import('../configuration/configuration-view.tsx') as Promise<Loaded>,
  phones: () => import('../phones/phones-view.tsx') as Promise<Loaded>,
  fleet: () => import('../fleet/fleet-view.tsx') as Promise<Loaded>,
  more: () => import('../more/more-view.tsx') as Promise<Loaded>,
} as const satisfies Record<Place, () => Promise<Loaded>>;

export function loadPlace(place: Place): Promise<Loaded> {
  return places[place]();
}
