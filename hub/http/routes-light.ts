import { type LightView, lightApi } from '../api/light.ts';
import type { LightNow } from '../judgement/light/lamps.ts';
import { Refused } from '../model/refusals/refused.ts';
import type { HttpParts, TypedServer } from './parts.ts';

export function addLightRoutes(
  server: TypedServer,
  { clock, lamps, live, livestock }: Pick<HttpParts, 'clock' | 'lamps' | 'live' | 'livestock'>,
): void {
  const viewed = (system: string): LightView => viewOf(lamps.now(system, clock.nowMs()));

  server.get('/api/light/:system', { schema: lightApi['GET /api/light/:system'] }, (request) =>
    viewed(request.params.system),
  );

  server.post('/api/light/:system/lamp', { schema: lightApi['POST /api/light/:system/lamp'] }, (request, reply) => {
    lamps.hang(request.params.system, request.body, clock.nowMs());
    live.changed();
    void reply.code(201);
    return viewed(request.params.system);
  });

  server.post(
    '/api/light/:system/arrivals/:id',
    { schema: lightApi['POST /api/light/:system/arrivals/:id'] },
    (request) => {
      const { system, id } = request.params;
      const { lamp } = lamps.now(system, clock.nowMs());
      if (lamp === undefined) throw new Refused('not_known', 'no lamp is entered: enter it and measure PAR first');
      const change = { kind: 'new_lamp' as const, measured: lamp.measured, lightDay: lamp.day };
      const { light } = livestock.arrivals.changeLight(id, change, clock.nowMs());
      live.changed();
      return {
        days: light!.plan.days.map(({ day, height_cm, par_umol_m2_s, dli_mol_m2 }) => ({
          day,
          height_cm,
          par: par_umol_m2_s,
          dli: dli_mol_m2,
        })),
      };
    },
  );

  server.post('/api/light/:system/par', { schema: lightApi['POST /api/light/:system/par'] }, (request, reply) => {
    lamps.measure(request.params.system, request.body, clock.nowMs());
    live.changed();
    void reply.code(201);
    return viewed(request.params.system);
  });
}

function viewOf({ lamp, places, pieces, change, text, cautions }: LightNow): LightView {
  return {
    lamp:
      lamp === undefined
        ? null
        : {
            name: lamp.name,
            since: new Date(lamp.sinceMs).toISOString(),
            on_at: lamp.onAt,
            full_hours: lamp.day.fullHours,
            ramp_up_hours: lamp.day.rampUpHours ?? 0,
            ramp_down_hours: lamp.day.rampDownHours ?? 0,
          },
    places: places.map(({ height_cm, par_umol_m2_s, dli_mol_m2 }) => ({
      height_cm,
      par: par_umol_m2_s,
      dli: dli_mol_m2,
    })),
    pieces: pieces.map(({ dli_mol_m2, ...piece }) => ({ ...piece, dli: dli_mol_m2 })),
    change:
      change === undefined
        ? null
        : {
            from: change.from,
            days: change.days,
            today: change.today,
            heights: change.heights.map(({ height_cm, before_mol_m2, after_mol_m2, ratio }) => ({
              height_cm,
              before_dli: before_mol_m2,
              after_dli: after_mol_m2,
              ratio,
            })),
          },
    text,
    cautions: [...cautions],
  };
}
