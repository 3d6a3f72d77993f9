import { nowApi } from '../api/now.ts';
import type { HttpParts, TypedServer } from './parts.ts';

/** What a person should do now or today, over all tanks. */
export function addNowRoutes(server: TypedServer, { clock, todo }: HttpParts): void {
  server.get('/api/now', { schema: nowApi['GET /api/now'] }, () => {
    const nowMs = clock.nowMs();
    return { time: nowMs, ...todo.list(nowMs) };
  });
}
