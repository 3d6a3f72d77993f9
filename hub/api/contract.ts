import type * as z from 'zod';
import type { accessApi } from './access.ts';
import type { adviceApi } from './advice.ts';
import type { alarmApi } from './alarms.ts';
import type { arrivalApi } from './arrivals.ts';
import type { batchApi } from './batches.ts';
import type { calibrationApi } from './calibrations.ts';
import type { configurationApi } from './configuration.ts';
import type { entryApi } from './entries.ts';
import type { fleetApi } from './fleet.ts';
import type { gasApi } from './gas.ts';
import type { healthApi } from './health.ts';
import type { ionsApi } from './ions.ts';
import type { kitApi } from './kits.ts';
import type { laboratoryApi } from './laboratory.ts';
import type { lightApi } from './light.ts';
import type { monthsApi } from './months.ts';
import type { nowApi } from './now.ts';
import type { nutrientApi } from './nutrients.ts';
import type { phoneApi } from './phones.ts';
import type { pieceApi } from './pieces.ts';
import type { probeApi } from './probes.ts';
import type { protocolApi } from './protocols.ts';
import type { roomApi } from './room.ts';
import type { runApi } from './runs.ts';
import type { seriesApi } from './series.ts';
import type { settingsApi } from './settings.ts';
import type { sourceApi } from './sources.ts';
import type { titrationApi } from './titrations.ts';
import type { volumeApi } from './volume.ts';
import type { weekApi } from './week.ts';

/**
 * What the hub takes and answers, route by route. Types alone: the schemas stand beside it for the server, and do not come
 * into a browser with the page.
 */
type Contract = typeof accessApi &
  typeof adviceApi &
  typeof alarmApi &
  typeof batchApi &
  typeof calibrationApi &
  typeof entryApi &
  typeof gasApi &
  typeof healthApi &
  typeof kitApi &
  typeof nowApi &
  typeof nutrientApi &
  typeof phoneApi &
  typeof pieceApi &
  typeof probeApi &
  typeof protocolApi &
  typeof roomApi &
  typeof seriesApi &
  typeof volumeApi &
  typeof laboratoryApi &
  typeof ionsApi &
  typeof lightApi &
  typeof monthsApi &
  typeof sourceApi &
  typeof titrationApi &
  typeof weekApi &
  typeof arrivalApi &
  typeof runApi &
  typeof fleetApi &
  typeof settingsApi &
  typeof configurationApi;

export type Route = keyof Contract & string;

type Part<Name extends Route, Key extends string, Otherwise> = Contract[Name] extends { [K in Key]: infer Schema }
  ? Schema extends z.ZodType
    ? z.input<Schema>
    : Otherwise
  : Otherwise;

type Answers<Name extends Route> = Contract[Name] extends { response: infer Response } ? Response : never;

/** The body of a good answer; null where it is empty. */
export type AnswerOf<Name extends Route> = Answers<Name>[keyof Answers<Name>] extends infer Schema
  ? Schema extends z.ZodType
    ? z.output<Schema>
    : never
  : never;

type Needed<Key extends string, Value> = [Value] extends [never]
  ? { [K in Key]?: undefined }
  : Record<string, never> extends Value
    ? { [K in Key]?: Value }
    : { [K in Key]: Value };

/** What is sent with a question to a route. */
export type AskedOf<Name extends Route> = Needed<'params', Params<Name>> &
  Needed<'query', Part<Name, 'querystring', never>> &
  Needed<'body', Part<Name, 'body', never>>;

/** The same with what a person said, which the hub judges. */
export type SaidOf<Name extends Route> = Omit<AskedOf<Name>, 'body'> & { body?: Record<string, unknown> };

/** Names in the path, such as `id`; numbers are written out. */
type Params<Name extends string> = NamesIn<Name> extends never ? never : Record<NamesIn<Name>, string | number>;
type NamesIn<Path extends string> = Path extends `${string}/:${infer Rest}`
  ? Rest extends `${infer Param}/${infer More}`
    ? Param | NamesIn<`/${More}`>
    : Rest
  : never;
