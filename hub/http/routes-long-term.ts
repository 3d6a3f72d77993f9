import { demandAnalytes } from '#rules/trend/demand-facts.ts';
import type { LearnedVolume } from '#rules/trend/learned-volume.ts';
import { type MonthsView, monthsApi } from '../api/months.ts';
import { type NutrientView, nutrientApi } from '../api/nutrients.ts';
import { type SourceView, sourceApi } from '../api/sources.ts';
import { type VolumeView, volumeApi } from '../api/volume.ts';
import type { VolumeAnswer } from '../judgement/estimate/volume-learner.ts';
import { noSystem } from '../model/refusals/no-system.ts';
import { Refused } from '../model/refusals/refused.ts';
import type { HttpParts, TypedServer } from './parts.ts';

const inLitres = (statedL: number, { ratio, low95, high95, isLearned }: LearnedVolume) => ({
  litres: ratio * statedL,
  low95_l: low95 * statedL,
  high95_l: high95 * statedL,
  is_learned: isLearned,
});

/** A phone waits no longer than this; what is learned meanwhile is told the next time. */
const answerWithinMs = 4_000;

const soon = (known: VolumeAnswer | undefined): Promise<VolumeAnswer | 'pending'> =>
  new Promise((resolve) => {
    setTimeout(() => resolve(known ?? 'pending'), answerWithinMs).unref();
  });

function addNutrients(server: TypedServer, { nutrients, config }: Pick<HttpParts, 'nutrients' | 'config'>): void {
  server.get(
    '/api/nutrients/:system',
    { schema: nutrientApi['GET /api/nutrients/:system'] },
    (request): NutrientView => {
      const { system } = request.params;
      if (!config.systems.some(({ id }) => id === system)) throw noSystem(system, config.systems);
      const { nitrate, phosphate, ratio, byMoles, text } = nutrients(system);
      return {
        nitrate,
        phosphate,
        text,
        by_moles: byMoles,
        by_mass: ratio?.ratio ?? null,
        by_mass_low95: ratio?.low95 ?? null,
        by_mass_high95: ratio?.high95 ?? null,
      };
    },
  );
}

export function addLongTermRoutes(server: TypedServer, parts: HttpParts): void {
  addVolume(server, parts);
  addNutrients(server, parts);
  addSources(server, parts);
  addMonths(server, parts);
}

function addSources(
  server: TypedServer,
  { alkalineSources, config }: Pick<HttpParts, 'alkalineSources' | 'config'>,
): void {
  server.get('/api/sources/:system', { schema: sourceApi['GET /api/sources/:system'] }, (request): SourceView[] => {
    const found = alkalineSources(request.params.system);
    if (found === undefined) throw noSystem(request.params.system, config.systems);
    return found.map(({ stock, name, mlPerDay, risesPerDay, co2MmolPerDay, phAfterDay, text, cautions }) => ({
      stock,
      name,
      ml_per_day: mlPerDay,
      rises_per_day: risesPerDay,
      co2_mmol_per_day: co2MmolPerDay,
      ph_after_day: phAfterDay,
      text,
      cautions: [...cautions],
    }));
  });
}

function addMonths(server: TypedServer, { monthsAhead, config }: Pick<HttpParts, 'monthsAhead' | 'config'>): void {
  server.get(
    '/api/months-ahead/:system',
    { schema: monthsApi['GET /api/months-ahead/:system'] },
    async (request): Promise<MonthsView> => {
      const found = await monthsAhead(request.params.system);
      if (found === undefined) throw noSystem(request.params.system, config.systems);
      return {
        text: found.text,
        growth: found.growth.map(({ analyte, percentPerMonth, low95, high95 }) => ({
          analyte,
          percent_per_month: percentPerMonth,
          low95,
          high95,
        })),
        outgrown: found.outgrown.map((each) => ({
          analyte: each.analyte,
          what: each.what,
          limit_per_day: each.limitPerDay,
          text: each.text,
          likely_days: each.likelyDays ?? null,
          low95_days: each.low95Days ?? null,
          high95_days: each.high95Days ?? null,
          chance_within_a_year: each.chanceWithin,
        })),
      };
    },
  );
}

function addVolume(server: TypedServer, { volumes, config }: Pick<HttpParts, 'volumes' | 'config'>): void {
  server.get(
    '/api/volume/:system',
    { schema: volumeApi['GET /api/volume/:system'] },
    async (request): Promise<VolumeView> => {
      const { system } = request.params;
      const found = await Promise.race([volumes.of(system), soon(volumes.lastOf(system))]);
      if (found === undefined) throw noSystem(system, config.systems);
      if (found === 'pending')
        throw new Refused(
          'still_learning',
          'the volume is being worked out from doses and tests: ask again in a minute',
        );
      const { statedL, learned, byAnalyte, isOff, text } = found;
      return {
        stated_l: statedL,
        is_off: isOff,
        text,
        learned: learned === undefined ? null : inLitres(statedL, learned),
        by_analyte: demandAnalytes.flatMap((analyte) => {
          const one = byAnalyte[analyte];
          return one === undefined ? [] : [{ analyte, ...inLitres(statedL, one), tests: one.tests }];
        }),
      };
    },
  );
}
