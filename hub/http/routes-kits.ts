import { metricFacts } from '#rules/quantity/metric.ts';
import { type KitAnswer, kitApi } from '../api/kits.ts';
import type { Kit } from '../flow/kits/kits.ts';
import { disagreeingLots } from '../judgement/kits/new-lots.ts';
import type { HttpParts, TypedServer } from './parts.ts';

const instant = (timeMs: number) => new Date(timeMs).toISOString();

export function addKitRoutes(server: TypedServer, { clock, config, store, kits }: HttpParts): void {
  const now = () => clock.nowMs();
  const viewed = (kit: Kit) => viewOf(kit, disagreeing([kit.id]));

  function disagreeing(ids: readonly string[]) {
    return disagreeingLots(config, store, kits.register, now()).filter((each) => ids.includes(each.kit));
  }

  server.get('/api/kits', { schema: kitApi['GET /api/kits'] }, () => {
    const all = kits.register.all();
    const said = disagreeing(all.map(({ id }) => id));
    return all.map((kit) =>
      viewOf(
        kit,
        said.filter((each) => each.kit === kit.id),
      ),
    );
  });

  server.post('/api/kits', { schema: kitApi['POST /api/kits'] }, (request, reply) => {
    void reply.code(201);
    return viewed(kits.register.open(request.body, now()));
  });

  server.post('/api/kits/:id/compare', { schema: kitApi['POST /api/kits/:id/compare'] }, (request, reply) => {
    void reply.code(201);
    return viewed(kits.register.compare(request.params.id, request.body, now()));
  });

  server.post('/api/kits/:id/apply', { schema: kitApi['POST /api/kits/:id/apply'] }, (request) => {
    const { tests, systems } = kits.register.apply(request.params.id, request.body, now());
    for (const system of systems) kits.learned(system);
    return { tests };
  });
}

function viewOf(kit: Kit, said: readonly { say: string }[]): KitAnswer {
  const { id, name, analyte, lot, resolution, openedMs, pairs, found, correctsFromMs } = kit;
  return {
    id,
    name,
    analyte,
    unit: metricFacts[analyte].unit,
    lot: lot ?? null,
    resolution: resolution ?? null,
    opened: instant(openedMs),
    pairs: pairs.length,
    bias: found?.bias ?? null,
    sd: found?.sd ?? null,
    corrects_from: correctsFromMs === undefined ? null : instant(correctsFromMs),
    warnings: said.map(({ say }) => say),
  };
}
