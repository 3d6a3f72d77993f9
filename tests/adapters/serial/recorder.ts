import type { EdgeListener } from '#adapters/ports/edge.ts';
import type { Observation, ObservationSink, Reject } from '#adapters/ports/observation.ts';

/** Stands where the hub stands: keeps what an edge hands over. `onAccept` decides when, and whether, it is stored. */
export function createRecorder(onAccept?: (observations: Observation[]) => void | Promise<void>) {
  const observations: Observation[] = [];
  const rejects: Reject[] = [];
  const changes: { name: string; isUp: boolean; detail: string }[] = [];
  const sink: ObservationSink = {
    accept(accepted) {
      observations.push(...accepted);
      return onAccept?.(accepted);
    },
    reject(reject) {
      rejects.push(reject);
    },
  };
  const listener: EdgeListener = ({ name, isUp, detail }) => {
    changes.push({ name, isUp, detail });
  };
  return {
    sink,
    listener,
    observations,
    rejects,
    changes,
    values: () => observations.map(({ value }) => value),
    ups: () => changes.map(({ isUp }) => isUp),
  };
}
