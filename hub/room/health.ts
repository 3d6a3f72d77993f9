import type { Edge } from '#adapters/ports/edge.ts';
import type { Store } from '#adapters/ports/store.ts';
import type { Health } from '../http/parts.ts';
import type { Pipeline } from '../pipeline/pipeline.ts';
import type { RejectCounts } from './counters.ts';

export type HealthParts = {
  startedMs: number;
  edges: readonly Edge[];
  pipeline: Pipeline;
  rejects: RejectCounts;
  store: Pick<Store, 'outboxDepth' | 'uncleanStop'>;
};

/** What is up, what is not and since when it last worked. */
export function healthOf(parts: HealthParts): Health {
  const states = parts.edges.map((edge) => edge.state());
  return {
    status: states.every((state) => state.isUp) ? 'ok' : 'degraded',
    started: new Date(parts.startedMs).toISOString(),
    edges: states.map((state) => ({
      name: state.name,
      up: state.isUp,
      last_success: state.lastSuccessMs === undefined ? null : new Date(state.lastSuccessMs).toISOString(),
      error: state.lastError ?? null,
      counts: state.counts,
    })),
    readings: { ...parts.pipeline.counts, ...parts.rejects.counts() },
    outbox: { mqtt: parts.store.outboxDepth('mqtt'), influx: parts.store.outboxDepth('influx') },
    unclean_stop: parts.store.uncleanStop ?? null,
  };
}
