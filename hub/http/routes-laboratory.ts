import { type LaboratoryView, laboratoryApi } from '../api/laboratory.ts';
import { factNow } from '../judgement/water/water-now.ts';
import { noSystem } from '../model/refusals/no-system.ts';
import { Refused } from '../model/refusals/refused.ts';
import { compareTable } from '../reports/laboratory/compare-table.ts';
import type { HttpParts, TypedServer } from './parts.ts';

export function addLaboratoryRoutes(server: TypedServer, { config, store, clock }: HttpParts): void {
  server.post(
    '/api/laboratory/:system',
    { schema: laboratoryApi['POST /api/laboratory/:system'] },
    (request): LaboratoryView => {
      const { system } = request.params;
      if (!config.systems.some(({ id }) => id === system)) throw noSystem(system, config.systems);
      const { rows, salinity: given } = request.body;
      const salinity = given ?? factNow(store, system, 'salinity', clock.nowMs())?.value;
      if (salinity === undefined)
        throw new Refused(
          'not_known',
          'the salinity of the tank is not known: measure it, or give that of the laboratory',
        );
      const found = compareTable(rows, salinity);
      return {
        salinity,
        salinity_of: given === undefined ? 'tank' : 'laboratory',
        text: found.text,
        salinity_by_elements: found.salinityByElements ?? null,
        not_understood: found.notUnderstood,
        lines: found.lines.map((line) => ({
          element: line.element,
          value_mg_l: line.value_mg_L,
          is_below: line.isBelow ?? false,
          reference_mg_l: line.reference_mg_L ?? null,
          ratio: line.ratio ?? null,
          verdict: line.verdict,
          from: line.from ?? null,
        })),
      };
    },
  );
}
