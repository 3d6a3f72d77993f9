import { dayMs } from '#rules/clock/durations.ts';
import { fleetApi, type HubTile } from '../api/fleet.ts';
import { type Refusal, Refused } from '../model/refusals/refused.ts';
import type { HubRecord } from '../outside/fleet/fleet-state.ts';
import type { HttpParts, TypedServer } from './parts.ts';
import { fleetTiles, hubDetail } from './views/fleet-view.ts';

/** However many walls ask, the fleet is judged so often. */
const judgeEveryMs = 1000;
/** Finer than this, intervals of probes that speak every ten seconds are mostly empty. */
const leastStepMs = 10_000;
const longestMs = 3 * 366 * dayMs;

const refusalOf = {
  no_database: 'no_database',
  busy: 'database_busy',
  away: 'database_away',
  refused: 'database_refused',
  unread: 'database_unread',
} as const satisfies Record<string, Refusal>;

/** The other hubs of the fleet: what they say of themselves over the broker, and what they mirrored into the database. */
export function addFleetRoutes(
  server: TypedServer,
  { fleet, clock, sources, config }: Pick<HttpParts, 'fleet' | 'clock' | 'sources' | 'config'>,
): void {
  const link = () => sources.edges().find(({ name }) => name === 'mqtt');
  const view = () => ({
    clock,
    units: sources.units(),
    self: config.mqtt.prefix,
    silentAfterMs: fleet.silentAfterMs,
  });
  let latest: { atMs: number; tiles: HubTile[] } | undefined;

  function tiles(): HubTile[] {
    const atMs = clock.monotonicMs();
    if (latest === undefined || atMs - latest.atMs >= judgeEveryMs)
      latest = { atMs, tiles: fleetTiles(fleet.hubs(), view()) };
    return latest.tiles;
  }

  /** @throws Refused  for a hub of which nothing was heard */
  function recordOf(hub: string): HubRecord {
    const record = fleet.hub(hub);
    if (record === undefined) throw new Refused('unknown_hub', `no hub heard with the name "${hub}"`);
    return record;
  }

  server.get('/api/fleet', { schema: fleetApi['GET /api/fleet'] }, () => ({
    configured: fleet.isConfigured,
    time: clock.nowMs(),
    link: { isUp: link()?.isUp ?? false, lastSuccessMs: link()?.lastSuccessMs ?? null },
    counts: fleet.counts(),
    hubs: tiles(),
  }));

  server.get('/api/fleet/:hub', { schema: fleetApi['GET /api/fleet/:hub'] }, (request) =>
    hubDetail(recordOf(request.params.hub), view()),
  );

  server.get('/api/fleet/:hub/history', { schema: fleetApi['GET /api/fleet/:hub/history'] }, async (request, reply) => {
    const { hub } = recordOf(request.params.hub);
    const { system, metric, points } = request.query;
    const [fromMs, toMs] = [Date.parse(request.query.from), Date.parse(request.query.to)];
    if (!(toMs > fromMs) || toMs - fromMs > longestMs)
      throw new Refused('invalid', '`to` must be after `from`, by at most three years');
    const gone = new AbortController();
    reply.raw.once('close', () => gone.abort());
    const stepMs = Math.max(leastStepMs, Math.ceil((toMs - fromMs) / points / 1000) * 1000);
    const answer = await fleet.history({ hub, system, metric, fromMs, toMs, stepMs }, gone.signal);
    if (!answer.ok) throw new Refused(refusalOf[answer.kind], answer.detail);
    return {
      stepMs,
      curves: answer.curves.map(({ probe, points: own }) => ({
        probe,
        points: own.map(({ timeMs, min, mean, max, count, isDoubtful }) => ({
          time: timeMs,
          min,
          mean,
          max,
          count,
          ...(isDoubtful ? { doubtful: true as const } : {}),
        })),
      })),
    };
  });
}
