import { runApi } from '../api/runs.ts';
import type { HttpParts, TypedServer } from './parts.ts';
import { bathCheckView, runView } from './views/arrival-view.ts';

/** Protocols at work: steps, timers, baths. */
export function addRunRoutes(server: TypedServer, { clock, livestock }: HttpParts): void {
  const { runs } = livestock;
  const now = () => clock.nowMs();

  server.post('/api/arrivals/:id/runs', { schema: runApi['POST /api/arrivals/:id/runs'] }, (request, reply) => {
    const run = livestock.day.start(request.params.id, request.body, now());
    void reply.code(201);
    return runView(livestock, run, now());
  });

  server.get('/api/runs/:run', { schema: runApi['GET /api/runs/:run'] }, (request) =>
    runView(livestock, runs.run(request.params.run), now()),
  );

  server.post('/api/runs/:run/timer', { schema: runApi['POST /api/runs/:run/timer'] }, (request) =>
    runView(livestock, runs.startTimer(request.params.run, now()), now()),
  );

  server.post('/api/runs/:run/done', { schema: runApi['POST /api/runs/:run/done'] }, (request) => {
    const run = runs.stepDone(request.params.run, request.body, now());
    return runView(livestock, run, now());
  });

  server.post('/api/runs/:run/undo', { schema: runApi['POST /api/runs/:run/undo'] }, (request) =>
    runView(livestock, runs.undoStep(request.params.run, now()), now()),
  );

  server.post('/api/runs/:run/bath-water', { schema: runApi['POST /api/runs/:run/bath-water'] }, (request) =>
    bathCheckView(runs.measureBath(request.params.run, request.body, now())),
  );

  server.delete('/api/runs/:run', { schema: runApi['DELETE /api/runs/:run'] }, (request, reply) => {
    runs.remove(request.params.run, now());
    void reply.code(204);
    return null;
  });
}
