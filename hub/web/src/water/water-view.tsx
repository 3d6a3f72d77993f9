import { batchStartOf } from '../kit/batch-start.ts';
import type { PlaceProps } from '../kit/places.ts';
import '../style/asked.css';
import '../style/big-timer.css';
import '../style/corals.css';
import '../style/verdicts.css';
import { BatchPage } from './batch-page.tsx';
import { BatchesList } from './batches-list.tsx';

/** New salt water: made, measured until it matches its tank, and used. */
export default function WaterView({ view, parts }: PlaceProps) {
  const [id, carried] = parts;
  if (id === 'make') return <BatchesList key={carried} view={view} start={batchStartOf(carried)} />;
  if (id !== undefined && id !== '') return <BatchPage key={id} id={id} view={view} />;
  return <BatchesList view={view} />;
}
