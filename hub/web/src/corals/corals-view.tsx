import type { PlaceProps } from '../kit/places.ts';
import '../style/asked.css';
import '../style/big-timer.css';
import '../style/corals.css';
import '../style/verdicts.css';
import { ArrivalPage } from './arrival-page.tsx';
import { ArrivalsList } from './arrivals-list.tsx';
import { ChecklistPage } from './checklist-page.tsx';
import { NewArrival } from './new-arrival.tsx';
import { PiecePage } from './piece-page.tsx';
import { PiecesList } from './pieces-list.tsx';
import { PrepareWater } from './prepare-water.tsx';

/** Corals from the day they are expected: arrivals with their checklists and care, and the register of pieces. */
export default function CoralsView({ view, parts }: PlaceProps) {
  const [what, id, more, run] = parts;
  if (what === 'new') return <NewArrival view={view} />;
  if (what === 'prepare') return <PrepareWater key={id} view={view} arrival={id} />;
  if (what === 'pieces') return <PiecesList view={view} />;
  if (what === 'piece' && id !== undefined) return <PiecePage key={id} id={id} view={view} />;
  if (what === 'arrival' && id !== undefined) {
    if (more === 'run' && run !== undefined) return <ChecklistPage key={run} id={run} arrival={id} view={view} />;
    return <ArrivalPage key={id} id={id} view={view} />;
  }
  return <ArrivalsList view={view} />;
}
