import { titrationApi } from '../api/titrations.ts';
import type { HttpParts, TypedServer } from './parts.ts';
import { titrationView } from './views/titration-view.ts';

export function addTitrationRoutes(server: TypedServer, { clock, titrator }: HttpParts): void {
  const now = () => clock.nowMs();

  server.post('/api/titrations', { schema: titrationApi['POST /api/titrations'] }, (request, reply) => {
    const nowMs = now();
    const begun = titrator.start(request.body, nowMs);
    void reply.code(201);
    return titrationView(begun, nowMs);
  });

  server.get('/api/titrations', { schema: titrationApi['GET /api/titrations'] }, () => {
    const nowMs = now();
    return titrator.running(nowMs).map((each) => titrationView(each, nowMs));
  });

  server.get('/api/titrations/:id', { schema: titrationApi['GET /api/titrations/:id'] }, (request) => {
    const nowMs = now();
    return titrationView(titrator.now(request.params.id, nowMs), nowMs);
  });

  server.post('/api/titrations/:id/acid', { schema: titrationApi['POST /api/titrations/:id/acid'] }, (request) => {
    const nowMs = now();
    return titrationView(titrator.acid(request.params.id, request.body, nowMs), nowMs);
  });

  server.post('/api/titrations/:id/undo', { schema: titrationApi['POST /api/titrations/:id/undo'] }, (request) => {
    const nowMs = now();
    return titrationView(titrator.undo(request.params.id, nowMs), nowMs);
  });

  server.post('/api/titrations/:id/go-on', { schema: titrationApi['POST /api/titrations/:id/go-on'] }, (request) => {
    const nowMs = now();
    return titrationView(titrator.goOn(request.params.id, nowMs), nowMs);
  });

  server.post(
    '/api/titrations/:id/finish',
    { schema: titrationApi['POST /api/titrations/:id/finish'] },
    (request, reply) => {
      const { id, saved, halfWidth95_dKH, titration } = titrator.finish(request.params.id, request.body.by, now());
      void reply.code(201);
      return { id, saved, half_width95_dkh: halfWidth95_dKH, points_used: titration.points_used };
    },
  );

  server.post(
    '/api/titrations/:id/give-up',
    { schema: titrationApi['POST /api/titrations/:id/give-up'] },
    (request) => {
      titrator.giveUp(request.params.id, now());
      return { id: request.params.id };
    },
  );
}
