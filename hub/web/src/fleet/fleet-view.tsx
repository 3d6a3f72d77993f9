import type { PlaceProps } from '../kit/places.ts';
import '../style/fleet.css';
import { FleetWall } from './fleet-wall.tsx';
import { HistoryPage } from './history-page.tsx';
import { HubPage } from './hub-page.tsx';

/** The other hubs on the broker: all of them, one of them, one of its values over time. */
export default function FleetView({ view, parts }: PlaceProps) {
  const [hub, system, metric] = parts;
  const zone = view.timezone;
  if (hub === undefined || hub === '') return <FleetWall />;
  if (system === undefined || metric === undefined) return <HubPage key={hub} hub={hub} zone={zone} />;
  return <HistoryPage hub={hub} system={system} metric={metric} zone={zone} />;
}
