import { existsSync } from 'node:fs';
import fastifyHelmet from '@fastify/helmet';
import fastifyStatic from '@fastify/static';
import fastifySwagger from '@fastify/swagger';
import Fastify, { type FastifyBaseLogger, type FastifyInstance, LogController } from 'fastify';
import {
  jsonSchemaTransform,
  serializerCompiler,
  validatorCompiler,
  type ZodTypeProvider,
} from 'fastify-type-provider-zod';
import { refuseStrangers } from './local-only.ts';
import type { HttpParts } from './parts.ts';
import { answerWithProblem, sendProblem } from './problem.ts';
import { addAlarmRoutes } from './routes-alarms.ts';
import { addArrivalRoutes } from './routes-arrivals.ts';
import { addBatchRoutes } from './routes-batches.ts';
import { addCalibrationRoutes } from './routes-calibrations.ts';
import { addEntryRoutes } from './routes-entries.ts';
import { addEstimateRoutes } from './routes-estimates.ts';
import { addPieceRoutes } from './routes-pieces.ts';
import { addRoomRoutes } from './routes-room.ts';
import { addRunRoutes } from './routes-runs.ts';
import { addSeriesRoutes } from './routes-series.ts';
import { addSettingsRoutes } from './routes-settings.ts';
import { addWeekRoutes } from './routes-week.ts';

export type HubServer = FastifyInstance;

const mostBodyBytes = 262_144;

/** The HTTP edge: the API with its OpenAPI document at /openapi.json, and the page. Listens only when told to. */
export async function createServer(parts: HttpParts, log: FastifyBaseLogger): Promise<HubServer> {
  const server = Fastify({
    loggerInstance: log,
    // One line for each change of state, none for each request.
    logController: new LogController({ disableRequestLogging: true }),
    bodyLimit: mostBodyBytes,
    // Else closing waits for every open event stream.
    forceCloseConnections: true,
    requestTimeout: 30_000,
    // An address that cannot be read never reaches the handler of errors.
    frameworkErrors: answerWithProblem,
  });
  // JSON alone is read: a page of another site can post plain text without asking first.
  server.removeContentTypeParser('text/plain');
  const typed = server.withTypeProvider<ZodTypeProvider>();
  typed.setValidatorCompiler(validatorCompiler);
  typed.setSerializerCompiler(serializerCompiler);
  server.setErrorHandler(answerWithProblem);
  server.setNotFoundHandler((request, reply) => {
    void sendProblem(reply, {
      type: 'about:blank',
      title: 'Not found',
      status: 404,
      detail: `nothing answers ${request.method} ${request.url.slice(0, 200)}`,
    });
  });
  server.addHook('onRequest', refuseStrangers);
  await server.register(fastifyHelmet, {
    contentSecurityPolicy: {
      useDefaults: false,
      directives: {
        'default-src': ["'self'"],
        'style-src': ["'self'", "'unsafe-inline'"],
        'manifest-src': ["'self'"],
        'worker-src': ["'self'"],
        'img-src': ["'self'", 'data:'],
        'frame-ancestors': ["'none'"],
        'base-uri': ["'none'"],
        'form-action': ["'self'"],
      },
    },
    strictTransportSecurity: false,
  });
  await server.register(fastifySwagger, {
    openapi: {
      openapi: '3.1.0',
      info: {
        title: 'Brinekeep',
        version: parts.version,
        description: 'A room of reef aquariums: what is measured, entered, alarmed and advised.',
      },
    },
    transform: jsonSchemaTransform,
  });
  server.get('/openapi.json', { schema: { hide: true } }, () => server.swagger());
  addRoomRoutes(typed, parts);
  addSeriesRoutes(typed, parts);
  addEntryRoutes(typed, parts);
  addEstimateRoutes(typed, parts);
  addAlarmRoutes(typed, parts);
  addCalibrationRoutes(typed, parts);
  addArrivalRoutes(typed, parts);
  addRunRoutes(typed, parts);
  addBatchRoutes(typed, parts);
  addPieceRoutes(typed, parts);
  addWeekRoutes(typed, parts);
  addSettingsRoutes(typed, parts);
  if (existsSync(parts.pageDir)) {
    await server.register(fastifyStatic, { root: parts.pageDir, wildcard: false });
  } else {
    log.warn({ dir: parts.pageDir }, 'the page is not built; only the API answers');
  }
  return server;
}
