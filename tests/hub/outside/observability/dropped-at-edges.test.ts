import { expect, test } from 'vitest';
import { createRejectGate, emptyRejectCounts } from '#adapters/decoders/reject-gate.ts';
import { droppedAtEdges } from '#hub/outside/observability/dropped-at-edges.ts';
import { createManualClock } from '../../../adapters/clock/manual-clock.ts';

const edge = (name: string, counts: Record<string, number>) => ({ name, isUp: true, counts });

test('a flood of bad lines looks like a trickle in the figures', () => {
  const counts: Record<string, number> = { ...emptyRejectCounts(), lines: 9000, readings: 8 };
  let told = 0;
  const reject = createRejectGate(
    {
      accept: () => {},
      reject: () => {
        told += 1;
      },
    },
    createManualClock(0),
    counts,
  );
  for (let n = 0; n < 5000; n += 1) reject('serial:rack', 'malformed', '?');
  expect(told).toBe(20);
  expect(
    droppedAtEdges([edge('serial:rack', counts), edge('mqtt', { malformed: 3, too_long: 1, messages: 7 })]),
  ).toEqual({
    malformed: 5003,
    too_long: 1,
  });
});

test('what the broker inside drops is in no figure, or its counts of other things are', () => {
  const broker = edge('broker', { accepted: 4, clients: 2, too_large: 1, waiting_dropped: 2, refused_publish: 3 });
  expect(droppedAtEdges([broker])).toEqual({ too_large: 1, waiting_dropped: 2, refused_publish: 3 });
});
