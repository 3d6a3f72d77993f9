import { useState } from 'preact/hooks';
import type { SystemView } from '../../../api/room.ts';
import type { PlaceProps } from '../kit/places.ts';
import '../style/asked.css';
import '../style/corals.css';
import { IonsPart } from './ions-part.tsx';
import { LaboratoryPart } from './laboratory-part.tsx';
import { LampPart } from './lamp-part.tsx';
import { MonthsPart } from './months-part.tsx';
import { NutrientPart } from './nutrient-part.tsx';
import { SourcePart } from './source-part.tsx';
import { VolumePart } from './volume-part.tsx';

function OfSystem({ system }: { system: SystemView }) {
  return (
    <div class="long-term">
      <VolumePart system={system} />
      <MonthsPart system={system} />
      <NutrientPart system={system} />
      <SourcePart system={system} />
      <IonsPart system={system} />
      <LampPart system={system} />
      <LaboratoryPart system={system} />
    </div>
  );
}

/** A system's part; one of several is asked for when it is opened, since each keeps the hub busy for seconds. */
function SystemPart({ system, isFirst }: { system: SystemView; isFirst: boolean }) {
  const [isOpen, setOpen] = useState(isFirst);
  return (
    <details class="part" open={isOpen} onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>
        <h3>{system.name}</h3>
      </summary>
      {isOpen && <OfSystem system={system} />}
    </details>
  );
}

/** What shows only over weeks and months, system by system. */
export default function LongTermView({ view }: PlaceProps) {
  return (
    <main class="page page-broad">
      <h2 tabIndex={-1} data-view-title>
        Long term
      </h2>
      {view.systems.map((system, index) => (
        <SystemPart key={system.id} system={system} isFirst={index === 0} />
      ))}
    </main>
  );
}
