import type { PlaceProps } from '../kit/places.ts';
import { ProbeList } from './probe-list.tsx';
import { ProbePage } from './probe-page.tsx';
import '../style/probes.css';

/** `#/probes` lists them; `#/probes/ID` calibrates one. */
export default function ProbesView({ parts, view }: PlaceProps) {
  const [id] = parts;
  return id === undefined || id === '' ? <ProbeList /> : <ProbePage key={id} id={id} zone={view.timezone} />;
}
