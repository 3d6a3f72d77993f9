import { type IonsView, ionsApi } from '../api/ions.ts';
import { noSystem } from '../model/refusals/no-system.ts';
import type { HttpParts, TypedServer } from './parts.ts';

export function addIonsRoute(server: TypedServer, { ions, config }: Pick<HttpParts, 'ions' | 'config'>): void {
  server.get('/api/ions/:system', { schema: ionsApi['GET /api/ions/:system'] }, (request): IonsView => {
    const found = ions(request.params.system);
    if (found === undefined) throw noSystem(request.params.system, config.systems);
    return {
      ions: found.ions.map((each) => ({
        ion: each.ion,
        reference_mg_l: each.reference_mg_L,
        rise_per_day_mg_l: each.risePerDay_mg_L,
        at_rest: Number.isFinite(each.atRest) ? each.atRest : null,
        matters_after_days: each.mattersAfterDays ?? null,
        change_to_hold: each.changeToHold,
      })),
      salt_per_day_mg_l: found.saltPerDay_mg_L,
      salinity_per_month: found.salinityPerMonth,
      changed_per_day: found.changedPerDay,
      not_counted: found.notCounted,
      text: found.text,
    };
  });
}
