import type { HubState } from '#rules/verdicts/hub-state.ts';
import type { ValueState } from '#rules/verdicts/value-state.ts';
import type { HubTile } from '../../../api/fleet.ts';
import { StateShape } from '../kit/state-shape.tsx';
import type { Order } from '../room/foresight.ts';
import { marksWords } from './fleet-words.ts';

/** The shapes of the rows say how a value is. */
export const orderOf: Record<ValueState, Order> = {
  inside: 'steady',
  outside: 'outside',
  stale: 'unheard',
  doubtful: 'doubtful',
  unbanded: 'unbanded',
};

/** A ring that is cut is offline, an empty ring is not heard, a triangle is an alarm; else the shape of its worst value. */
export function HubShape({ state }: { state: HubState }) {
  if (state === 'offline' || state === 'alarm')
    return (
      <svg class={`shape shape-${state === 'alarm' ? 'outside' : 'cut'}`} viewBox="0 0 16 16" aria-hidden="true">
        {state === 'offline' && <circle cx="8" cy="8" r="5" class="hollow" />}
        {state === 'offline' && <path d="M1.4 13.2 13.2 1.4l1.4 1.4L2.8 14.6z" />}
        {state === 'alarm' && <path d="M8 1.5 15 14H1z" />}
      </svg>
    );
  if (state === 'silent') return <StateShape order="unheard" />;
  return <StateShape order={orderOf[state === 'calm' ? 'inside' : state]} />;
}

const step = 11;
const gap = 9;
const height = 40;
const bandTop = height * 0.25;
const bandHeight = height * 0.5;

/** On the scale that all rows share: the band is the middle half, and a value beyond the end is drawn at the end. */
function yOf(at: number): number {
  return Math.min(height - 4, Math.max(4, bandTop + bandHeight * (1 - at)));
}

function Mark({ mark, x }: { mark: HubTile['marks'][number][number]; x: number }) {
  const y = mark.at === null ? height / 2 : yOf(mark.at);
  switch (mark.state) {
    case 'outside':
      return <path class="fleet-mark fleet-mark-outside" d={`M${x - 4.5} ${y - 3.5}h9v7h-9z`} />;
    case 'stale':
      return <circle class="fleet-mark fleet-mark-hollow" cx={x} cy={y} r="3.2" />;
    case 'doubtful':
      return <path class="fleet-mark fleet-mark-doubt" d={`M${x - 4} ${y - 3}h3v6h-3zM${x + 1} ${y - 3}h3v6h-3z`} />;
    case 'inside':
      return <circle class="fleet-mark" cx={x} cy={y} r="3" />;
    case 'unbanded':
      return <circle class="fleet-mark fleet-mark-unbanded" cx={x} cy={y} r="1.6" />;
  }
}

/** Every value of a hub on the common scale, a group for each system. */
export function FleetMarks({ tile }: { tile: HubTile }) {
  let x = 0;
  const groups = tile.marks.map((marks) => {
    const from = x + gap / 2;
    const placed = marks.map((mark, index) => ({ mark, x: from + step * (index + 0.5) }));
    x += marks.length * step + gap;
    return { from, width: marks.length * step, placed };
  });
  if (groups.length === 0) return null;
  return (
    <svg
      class="fleet-marks"
      viewBox={`0 0 ${x} ${height}`}
      preserveAspectRatio="xMinYMid"
      role="img"
      aria-label={marksWords(tile)}
    >
      {groups.map(({ from, width, placed }) => (
        <g key={from}>
          <rect class="fleet-band" x={from} y={bandTop} width={width} height={bandHeight} />
          <path class="fleet-edges" d={`M${from} ${bandTop}h${width}M${from} ${bandTop + bandHeight}h${width}`} />
          {placed.map((each) => (
            <Mark key={each.x} {...each} />
          ))}
        </g>
      ))}
    </svg>
  );
}
