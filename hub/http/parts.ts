import type {
  FastifyBaseLogger,
  FastifyInstance,
  RawReplyDefaultExpression,
  RawRequestDefaultExpression,
  RawServerDefault,
} from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import type { Clock } from '#adapters/ports/edge.ts';
import type { Store } from '#adapters/ports/store.ts';
import type { Command as AlarmCommand } from '#rules/bands/evidence.ts';
import type { HistoryCalibrator } from '../flow/calibration/apply-to-history.ts';
import type { Calibrations } from '../flow/calibration/calibrations.ts';
import type { Entries } from '../flow/entries/enter.ts';
import type { Kits } from '../flow/kits/kits.ts';
import type { Livestock } from '../judgement/arrivals/livestock.ts';
import type { DeclinedAdvice } from '../judgement/estimate/declined-advice.ts';
import type { Estimator } from '../judgement/estimate/estimator.ts';
import type { GasExchange } from '../judgement/estimate/gas-exchange.ts';
import type { IonsNow } from '../judgement/estimate/ions-now.ts';
import type { MonthsAhead } from '../judgement/estimate/months-ahead.ts';
import type { NutrientsNow } from '../judgement/estimate/nutrients-now.ts';
import type { SourceNow } from '../judgement/estimate/sources-now.ts';
import type { VolumeLearner } from '../judgement/estimate/volume-learner.ts';
import type { Lamps } from '../judgement/light/lamps.ts';
import type { Titrator } from '../judgement/titration/titrator.ts';
import type { Health } from '../model/answers/health-schema.ts';
import type { Config } from '../model/config/schema.ts';
import type { ConfigFile } from '../model/settings/config-file.ts';
import type { SettingsMemory } from '../model/settings/settings.ts';
import type { Access } from '../outside/access/access.ts';
import type { Fleet } from '../outside/fleet/fleet.ts';
import type { LiveClients } from '../outside/live/live-clients.ts';
import type { Metrics } from '../outside/observability/metrics.ts';
import type { PhoneAccess } from '../outside/phones/phone-access.ts';
import type { NowLists } from '../reports/now/now-lists.ts';
import type { WeekReviews } from '../reports/week/week-reviews.ts';
import type { RoomSources } from './views/room-view.ts';

/** What the HTTP edge needs of the hub. */
export type HttpParts = {
  version: string;
  /** Folder of the built page. */
  pageDir: string;
  areAnswersChecked: boolean;
  config: Config;
  clock: Clock;
  store: Store;
  access: Access;
  entries: Entries;
  live: LiveClients;
  sources: RoomSources;
  /** False when no such alarm stands, or there is no such system or probe. */
  command(command: AlarmCommand): boolean;
  /** The working of an estimate; undefined for a system that is not there. */
  explain: Estimator['explain'];
  containers: Estimator['containers'];
  volumes: VolumeLearner;
  nutrients(system: string): NutrientsNow;
  gas: GasExchange['of'];
  lamps: Lamps;
  ions(system: string): IonsNow | undefined;
  /** These are undefined for a system that is not there. */
  monthsAhead(system: string): Promise<MonthsAhead> | undefined;
  alkalineSources(system: string): SourceNow[] | undefined;
  /** What a person has said about advice that is not followed. */
  declined: DeclinedAdvice;
  /** What there is to do now, over all tanks. */
  todo: NowLists;
  livestock: Livestock;
  titrator: Titrator;
  kits: { register: Kits; learned(system: string): void };
  calibration: { calibrations: Calibrations; history: HistoryCalibrator };
  settings: SettingsMemory;
  /** Undefined where the hub was started without a file. */
  configFile: ConfigFile | undefined;
  phones: PhoneAccess;
  fleet: Fleet;
  health(): Health;
  metrics: Pick<Metrics, 'text' | 'contentType'>;
  week: Pick<WeekReviews, 'tables' | 'demand' | 'review' | 'page'>;
};

export type TypedServer = FastifyInstance<
  RawServerDefault,
  RawRequestDefaultExpression<RawServerDefault>,
  RawReplyDefaultExpression<RawServerDefault>,
  FastifyBaseLogger,
  ZodTypeProvider
>;
