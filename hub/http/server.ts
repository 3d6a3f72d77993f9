import { existsSync } from 'node:fs';
import fastifyCookie from '@fastify/cookie';
import fastifyHelmet from '@fastify/helmet';
import fastifyStatic from '@fastify/static';
import fastifySwagger from '@fastify/swagger';
import { type FastifyBaseLogger, type FastifyInstance, LogController } from 'fastify';
import { validatorCompiler, type ZodTypeProvider } from 'fastify-type-provider-zod';
import { answersBy } from './edge/answers.ts';
import { boundConnections } from './edge/bound-connections.ts';
import { compressAnswer } from './edge/compress.ts';
import { describeRoute } from './edge/describe-route.ts';
import { createFastify } from './edge/fastify.ts';
import { addGuard } from './edge/guard.ts';
import { answerWithProblem, sendProblem } from './edge/problem.ts';
import type { HttpParts } from './parts.ts';
import { addAccessRoutes } from './routes-access.ts';
import { addAlarmRoutes } from './routes-alarms.ts';
import { addArrivalRoutes } from './routes-arrivals.ts';
import { addBatchRoutes } from './routes-batches.ts';
import { addCalibrationRoutes } from './routes-calibrations.ts';
import { addConfigurationRoutes } from './routes-configuration.ts';
import { addEntryRoutes } from './routes-entries.ts';
import { addEstimateRoutes } from './routes-estimates.ts';
import { addFleetRoutes } from './routes-fleet.ts';
import { addGasRoute } from './routes-gas.ts';
import { addHealthRoutes } from './routes-health.ts';
import { addIonsRoute } from './routes-ions.ts';
import { addKitRoutes } from './routes-kits.ts';
import { addLaboratoryRoutes } from './routes-laboratory.ts';
import { addLightRoutes } from './routes-light.ts';
import { addLongTermRoutes } from './routes-long-term.ts';
import { addNowRoutes } from './routes-now.ts';
import { addPhoneRoutes } from './routes-phones.ts';
import { addPieceRoutes } from './routes-pieces.ts';
import { addProbeRoutes } from './routes-probes.ts';
import { addRoomRoutes } from './routes-room.ts';
import { addRunRoutes } from './routes-runs.ts';
import { addSeriesRoutes } from './routes-series.ts';
import { addSettingsRoutes } from './routes-settings.ts';
import { addTitrationRoutes } from './routes-titrations.ts';
import { addWeekRoutes } from './routes-week.ts';

export type HubServer = FastifyInstance;

const mostBodyBytes = 262_144;

/** The HTTP edge: the API with its OpenAPI document at /openapi.json, and the page. Listens only when told to. */
export async function createServer(parts: HttpParts, log: FastifyBaseLogger): Promise<HubServer> {
  const { http, access: accessConfig } = parts.config;
  const server = createFastify(http, {
    loggerInstance: log,
    // One line for each change of state, none for each request.
    logController: new LogController({ disableRequestLogging: true }),
    bodyLimit: mostBodyBytes,
    // On a board that is busy with its own start the usual ten seconds for a part would end the hub.
    pluginTimeout: 300_000,
    // Else closing waits for every open event stream.
    forceCloseConnections: true,
    // An address that cannot be read never reaches the handler of errors.
    frameworkErrors: answerWithProblem,
  });
  boundConnections(server.server, http.most_connections);
  // JSON alone is read: a page of another site can post plain text without asking first.
  server.removeContentTypeParser('text/plain');
  const typed = server.withTypeProvider<ZodTypeProvider>();
  typed.setValidatorCompiler(validatorCompiler);
  typed.setSerializerCompiler(answersBy(log, parts.areAnswersChecked));
  server.setErrorHandler(answerWithProblem);
  server.setNotFoundHandler((request, reply) => {
    void sendProblem(reply, {
      type: 'about:blank',
      title: 'Not found',
      status: 404,
      detail: `nothing answers ${request.method} ${request.url.slice(0, 200)}`,
    });
  });
  server.addHook('onSend', compressAnswer);
  // Whatever was changed over HTTP may have changed what there is to do: open pages look again.
  server.addHook('onResponse', async (request, reply) => {
    if (request.method !== 'GET' && request.method !== 'HEAD' && reply.statusCode < 400) parts.live.changed();
  });
  await server.register(fastifyHelmet, {
    contentSecurityPolicy: {
      useDefaults: false,
      directives: {
        'default-src': ["'self'"],
        'object-src': ["'none'"],
        'manifest-src': ["'self'"],
        'worker-src': ["'self'"],
        'img-src': ["'self'", 'data:'],
        'frame-ancestors': ["'none'"],
        'base-uri': ["'none'"],
        'form-action': ["'self'"],
      },
    },
    // The same name may have to answer without TLS again, on the day that a certificate runs out.
    strictTransportSecurity: false,
  });
  await server.register(fastifyCookie);
  addGuard(server, parts.access, http.names, http.port);
  await server.register(fastifySwagger, {
    openapi: {
      openapi: '3.1.0',
      info: {
        title: 'Brinekeep',
        version: parts.version,
        description: 'A room of reef aquariums: what is measured, entered, alarmed and advised.',
      },
      components: {
        securitySchemes: {
          token: { type: 'http', scheme: 'bearer', description: 'Made by `brinekeep token add`.' },
          session: {
            type: 'apiKey',
            in: 'cookie',
            name: 'brinekeep-session-8080',
            description: 'POST /api/session; with the port of the hub',
          },
        },
      },
      security: [{ token: [] }, { session: [] }],
    },
    transform: describeRoute,
  });
  server.get('/openapi.json', { schema: { hide: true } }, () => server.swagger());
  const { declined } = parts;
  await addAccessRoutes(typed, { access: parts.access, idleDays: accessConfig.session_idle_days, port: http.port });
  addHealthRoutes(typed, parts);
  addRoomRoutes(typed, parts, declined);
  addNowRoutes(typed, parts);
  addSeriesRoutes(typed, parts);
  addEntryRoutes(typed, parts);
  addEstimateRoutes(typed, parts, declined);
  addGasRoute(typed, parts);
  addIonsRoute(typed, parts);
  addLightRoutes(typed, parts);
  addLongTermRoutes(typed, parts);
  addLaboratoryRoutes(typed, parts);
  addAlarmRoutes(typed, parts);
  addCalibrationRoutes(typed, parts);
  addArrivalRoutes(typed, parts);
  addRunRoutes(typed, parts);
  addBatchRoutes(typed, parts);
  addKitRoutes(typed, parts);
  addTitrationRoutes(typed, parts);
  addPieceRoutes(typed, parts);
  addPhoneRoutes(typed, parts);
  addWeekRoutes(typed, parts);
  addFleetRoutes(typed, parts);
  addSettingsRoutes(typed, parts);
  addProbeRoutes(typed, parts);
  addConfigurationRoutes(typed, parts);
  if (existsSync(parts.pageDir)) {
    await server.register(async (page) => {
      // The page is the same for everybody and has the sign-in in it.
      page.addHook('onRoute', (route) => {
        route.config = { ...route.config, scope: 'open' };
      });
      await page.register(fastifyStatic, { root: parts.pageDir, wildcard: false, preCompressed: true });
    });
  } else {
    log.warn({ dir: parts.pageDir }, 'the page is not built; only the API answers');
  }
  return server;
}
