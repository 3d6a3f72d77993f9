import type { RoomView } from '../../../http/room-view.ts';
import { sentenceOfRoom, urgency } from './foresight.ts';
import { nowMs } from './room-state.ts';
import { SystemCard, SystemTile } from './system-card.tsx';
import { isPhone, usePlaces } from './system-places.ts';

/** Beyond this a wall of whole systems is a wall nobody reads. */
const mostInFull = 4;

/** The first view: which metric will leave its band first, and when. */
export function RoomPage({ view }: { view: RoomView }) {
  const ordered = view.systems.toSorted((a, b) => urgency(a, nowMs.value) - urgency(b, nowMs.value));
  const places = usePlaces(view.systems);
  const isFew = view.systems.length <= mostInFull;
  return (
    <>
      <p class="sentence" role="status">
        {sentenceOfRoom(view, nowMs.value)}
      </p>
      {isFew ? (
        <main class={`systems systems-${view.systems.length}`}>
          {places.map((system) => (
            <SystemCard
              key={system.id}
              {...{ system, zone: view.timezone, isAlone: view.systems.length === 1 }}
              isShort={isPhone.value && view.systems.length > 1}
            />
          ))}
        </main>
      ) : (
        <main>
          <ul class="tiles" aria-label="Systems, the most urgent first">
            {ordered.map((system) => (
              <SystemTile key={system.id} system={system} zone={view.timezone} />
            ))}
          </ul>
        </main>
      )}
    </>
  );
}
