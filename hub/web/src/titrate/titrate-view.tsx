import { useState } from 'preact/hooks';
import type { RoomView } from '../../../api/room.ts';
import { Failure } from '../corals/fields.tsx';
import type { PlaceProps } from '../kit/places.ts';
import { addressOf } from '../kit/route.ts';
import { useAnswer } from '../kit/use-answer.ts';
import '../style/asked.css';
import '../style/corals.css';
import '../style/verdicts.css';
import '../style/titrate.css';
import { RunningTitration } from './running-titration.tsx';
import { StartTitration } from './start-titration.tsx';

/** `#/titrate`: alkalinity by the tank's own pH probe, one step at a time. `#/titrate/TANK` begins with that tank. */
export default function TitrateView({ view, parts }: PlaceProps) {
  const asked = parts[0];
  const { answer, failure, again } = useAnswer('GET /api/titrations', {}, 5000);
  const [saved, setSaved] = useState<{ words: string; system: string } | undefined>(undefined);
  const running = answer?.find(({ system }) => asked === undefined || asked === '' || system === asked);
  return (
    <main class="page page-broad">
      <nav class="way-back" aria-label="Way back">
        <a href="#/more">‹ More</a>
      </nav>
      <h2 tabIndex={-1} data-view-title>
        Titrate alkalinity{running === undefined ? '' : `, ${nameOf(view, running.system)}`}
      </h2>
      <Failure text={failure} />
      {saved !== undefined && <Saved {...saved} another={() => setSaved(undefined)} />}
      {saved === undefined && running !== undefined && (
        <RunningTitration
          key={running.id}
          id={running.id}
          ended={(words) => {
            if (words !== undefined) setSaved({ words, system: running.system });
            again();
          }}
        />
      )}
      {saved === undefined && answer !== undefined && running === undefined && (
        <StartTitration view={view} system={asked ?? ''} begun={again} />
      )}
    </main>
  );
}

function nameOf(view: RoomView, system: string): string {
  return view.systems.find(({ id }) => id === system)?.name ?? system;
}

function Saved({ words, system, another }: { words: string; system: string; another: () => void }) {
  return (
    <section class="part" aria-label="Saved">
      <p class="sentence" role="status">
        {words}
      </p>
      <p>Rinse the probe with pure water and put it back. Its alarms are on again. The whole run is in the log.</p>
      <p>
        <a href={addressOf(system)}>To the tank</a>
      </p>
      <button type="button" onClick={another}>
        Titrate again
      </button>
    </section>
  );
}
