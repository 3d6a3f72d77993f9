import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import { patience } from '../../../servers/server-process.ts';
import { type Answer, ask, problemIn } from '../../http/ask.ts';
import { type ArrivalRoom, dayMs, startArrivalRoom } from '../arrivals/arrival-room.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

const startMs = Date.parse('2026-03-02T09:00:00Z');
type Piece = {
  id: string;
  kind: string;
  place: string | null;
  frag_of: string | null;
  lost: { cause: string } | null;
  events: { event: string }[];
};

describe('the register of pieces', () => {
  let room: ArrivalRoom;
  const post = (path: string, body: unknown): Promise<Answer> => ask(room.hub.url, path, { body });
  const list = async (query = '') => (await ask(room.hub.url, `/api/pieces${query}`)).json<Piece[]>();

  beforeAll(async () => {
    room = await startArrivalRoom(startMs);
  });
  afterAll(() => room?.stop());

  test('a piece that was sent twice stands twice, or a frag does not know what it was cut from', async () => {
    const entry = { system: 'display', kind: 'acropora', source: 'a friend', place: 'rack 2', key: 'k' };
    expect((await post('/api/pieces', entry)).json<Piece>().id).toBe('p1');
    expect((await post('/api/pieces', entry)).json<Piece>().id).toBe('p1');
    await post('/api/pieces/p1/events', { event: 'growth', longest_cm: 7.5, note: 'encrusts the plug' });
    const cut = (await post('/api/pieces/p1/events', { event: 'fragged', frags: 2 })).json<{ frags: Piece[] }>();
    expect(cut.frags.map(({ id, frag_of, kind, place }) => [id, frag_of, kind, place])).toEqual([
      ['p2', 'p1', 'acropora', 'rack 2'],
      ['p3', 'p1', 'acropora', 'rack 2'],
    ]);
    await post('/api/pieces/p2/events', { event: 'moved', place: 'reef, left' });
    expect((await list()).map(({ id, place }) => [id, place])).toEqual([
      ['p1', 'rack 2'],
      ['p2', 'reef, left'],
      ['p3', 'rack 2'],
    ]);
  });

  test('a dip by checklist is not in the record of the pieces that lay in it', async () => {
    await post('/api/arrivals', { system: 'display', name: 'Frags', arrived: new Date(startMs).toISOString() });
    const { id } = (await post('/api/arrivals/a1/runs', { protocol: 'repeat_dip', pieces: ['p2', 'p3'] })).json<{
      id: string;
    }>();
    for (const step of ['done', 'done', 'timer']) expect((await post(`/api/runs/${id}/${step}`, {})).status).toBe(200);
    expect((await post(`/api/runs/${id}/done`, { early: true })).status).toBe(200);
    const dipped = (await list()).filter(({ events }) => events.some(({ event }) => event === 'dipped'));
    expect(dipped.map((piece) => piece.id)).toEqual(['p2', 'p3']);
  });

  test('a loss is counted in the wrong week, under no cause, or twice', async () => {
    room.clock.advance(8 * dayMs);
    expect((await post('/api/pieces/p3/events', { event: 'lost', cause: 'pest' })).status).toBe(201);
    problemIn(await post('/api/pieces/p3/events', { event: 'lost', cause: 'pest' }), 409);
    problemIn(await post('/api/pieces/p2/events', { event: 'lost', cause: 'bad luck' }), 400);
    await post('/api/pieces/p2/events', { event: 'lost', cause: 'bleached' });
    const week = async (from: string, to: string) =>
      (await ask(room.hub.url, `/api/pieces/losses?from=${from}&to=${to}`)).json();
    expect(await week('2026-03-09T00:00:00Z', '2026-03-16T00:00:00Z')).toEqual({
      lost: 2,
      by_cause: { pest: 1, bleached: 1 },
    });
    expect(await week('2026-03-02T00:00:00Z', '2026-03-09T00:00:00Z')).toEqual({ lost: 0, by_cause: {} });
    expect((await list('?here=true')).map(({ id }) => id)).toEqual(['p1']);
  });

  test('the command line tells another register than the API', async () => {
    const lost = await room.verb('piece', 'losses', '--from', '2026-03-09T00:00:00Z', '--to', '2026-03-16T00:00:00Z');
    expect(lost.out.split('\n').map((line) => line.trim())).toEqual(['2 lost', 'pest: 1', 'bleached: 1', '']);
    const told = await room.verb('piece', 'tell', 'p1', 'moved', '--place', 'quarantine');
    expect(told.out).toContain('p1 acropora, display, quarantine');
    expect((await room.verb('piece', 'tell', 'p2', 'moved', '--place', 'rack 1')).err).toContain(
      'was lost on 2026-03-10',
    );
  });

  test('an event that was taken back still counts', async () => {
    const lost = room.hub.store
      .journal({ kind: 'piece' })
      .find(({ body }) => body['event'] === 'lost' && body['piece'] === 'p2');
    await post(`/api/entries/${lost?.id}/withdraw`, {});
    expect((await list('?here=true')).map(({ id }) => id)).toEqual(['p1', 'p2']);
    await room.restart();
    expect((await list('?here=true')).map(({ id }) => id)).toEqual(['p1', 'p2']);
  });

  test('a piece whose coming was taken back cannot be added again, or brings what happened to the first', async () => {
    const entry = { system: 'display', kind: 'monti', key: 'a1-monti-1' };
    const first = (await post('/api/pieces', entry)).json<Piece>().id;
    await post(`/api/pieces/${first}/events`, { event: 'growth', longest_cm: 4 });
    const added = room.hub.store
      .journal({ kind: 'piece' })
      .find(({ body }) => body['event'] === 'added' && body['piece'] === first);
    await post(`/api/entries/${added?.id}/withdraw`, {});
    expect((await list()).map(({ id }) => id)).not.toContain(first);
    const again = await post('/api/pieces', entry);
    expect(again.status, again.text).toBe(201);
    const second = again.json<Piece>();
    expect(second.id).not.toBe(first);
    expect(second.events.map(({ event }) => event)).toEqual(['added']);
    expect((await post('/api/pieces', entry)).json<Piece>().id).toBe(second.id);
    expect((await list()).filter(({ kind }) => kind === 'monti')).toHaveLength(1);
    const other = room.hub.store
      .journal({ kind: 'piece' })
      .find(({ body }) => body['event'] === 'added' && body['piece'] === second.id);
    await post(`/api/entries/${other?.id}/withdraw`, {});
  });

  test('a piece that is not well is on no list, or stays there when it is well or lost', async () => {
    type Now = { deeds: { id: string; what: string; more?: string; urgency: string; act: unknown }[] };
    const ill = async () =>
      (await ask(room.hub.url, '/api/now')).json<Now>().deeds.filter(({ id }) => id.startsWith('ill:'));
    expect(await ill()).toEqual([]);
    await post('/api/pieces/p1/events', { event: 'ill', sign: 'tissue_loss_slow' });
    await post('/api/pieces/p2/events', { event: 'ill', sign: 'tissue_loss_fast', note: 'from the base' });
    expect(await ill()).toMatchObject([
      { id: 'ill:p1', what: 'acropora p1: tissue is receding over days', act: { do: 'open_piece', piece: 'p1' } },
      { id: 'ill:p2', urgency: 'now', more: expect.stringMatching(/^move it to its own vessel at once/) },
    ]);
    const told = await room.verb('piece', 'tell', 'p1', 'ill', '--sign', 'bleached');
    expect(told.out).toContain('not well since 2026-03-10: it is pale or bleached');
    problemIn(await post('/api/pieces/p1/events', { event: 'ill', sign: 'sad' }), 400);
    await post('/api/pieces/p1/events', { event: 'well' });
    await post('/api/pieces/p2/events', { event: 'lost', cause: 'tissue_loss' });
    expect(await ill()).toEqual([]);
  });

  test('a loss cannot be taken back at the command line, or takes more with it', async () => {
    const told = await room.verb('piece', 'take-back', 'p3', 'lost');
    expect(told.out).not.toContain('lost');
    expect(told.out).toContain('dipped');
    expect((await list('?here=true')).map(({ id }) => id)).toEqual(['p1', 'p3']);
    expect((await room.verb('piece', 'take-back', 'p3', 'lost')).err).toContain('no event "lost"');
    expect((await room.verb('piece', 'take-back', 'p3', 'added')).code).toBe(1);
  });
});
