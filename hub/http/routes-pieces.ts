import { illnesses } from '#rules/arrivals/illness.ts';
import { type PieceAnswer, pieceApi } from '../api/pieces.ts';
import type { Piece } from '../judgement/pieces/pieces.ts';
import { mostPhotoBytes, photoTypes } from '../model/entries/photo-limits.ts';
import { Refused } from '../model/refusals/refused.ts';
import type { HttpParts, TypedServer } from './parts.ts';

export function addPieceRoutes(server: TypedServer, { clock, livestock }: HttpParts): void {
  const { pieces, photos } = livestock;
  const now = () => clock.nowMs();

  server.post('/api/pieces', { schema: pieceApi['POST /api/pieces'] }, (request, reply) => {
    const piece = pieces.add(request.body, now());
    void reply.code(201);
    return viewOf(piece);
  });

  server.get(
    '/api/pieces',
    {
      schema: pieceApi['GET /api/pieces'],
    },
    (request) => {
      const { system, arrival, here } = request.query;
      return pieces.all({ system, arrival, isHere: here === 'true' }).map(viewOf);
    },
  );

  server.get(
    '/api/pieces/losses',
    {
      schema: pieceApi['GET /api/pieces/losses'],
    },
    (request) => {
      const { from, to, system } = request.query;
      const { lost, byCause } = pieces.losses(Date.parse(from), Date.parse(to), system);
      return { lost, by_cause: byCause };
    },
  );

  server.get('/api/pieces/:id', { schema: pieceApi['GET /api/pieces/:id'] }, (request) =>
    viewOf(pieces.find(request.params.id)),
  );

  server.post(
    '/api/pieces/:id/events',
    {
      schema: pieceApi['POST /api/pieces/:id/events'],
    },
    (request, reply) => {
      const { piece, frags } = pieces.tell(request.params.id, request.body, now());
      void reply.code(201);
      return { piece: viewOf(piece), frags: frags.map(viewOf) };
    },
  );

  server.get('/api/photos/:name', { schema: pieceApi['GET /api/photos/:name'] }, async (request, reply) => {
    const { type, stream } = await photos.open(request.params.name);
    return reply.type(type).header('content-disposition', 'inline').send(stream);
  });

  server.delete('/api/photos/:name', { schema: pieceApi['DELETE /api/photos/:name'] }, async (request, reply) => {
    const { name } = request.params;
    // The file first: on a full disk it makes room for the note. Whoever got no answer asks again.
    const wasThere = await photos.remove(name);
    const wasNamed = pieces.dropPhoto(name, now());
    if (!wasThere && !wasNamed) throw new Refused('unknown_photo', `there is no photo "${name}"`);
    void reply.code(204);
    return null;
  });

  addPhotoIntake(server, { clock, livestock } as HttpParts);
}

/** The only place that reads anything but JSON, so that the rest stays as narrow as it is. */
function addPhotoIntake(outer: TypedServer, { clock, livestock }: Pick<HttpParts, 'clock' | 'livestock'>): void {
  const { pieces, photos } = livestock;
  void outer.register(async (scope) => {
    scope.addContentTypeParser(
      [...photoTypes],
      { parseAs: 'buffer', bodyLimit: mostPhotoBytes },
      (_request, body, done) => done(null, body),
    );
    const server = scope as TypedServer;
    server.post(
      '/api/pieces/:id/photos',
      {
        bodyLimit: mostPhotoBytes,
        schema: pieceApi['POST /api/pieces/:id/photos'],
      },
      async (request, reply) => {
        const bytes: unknown = request.body;
        if (!Buffer.isBuffer(bytes)) throw new Refused('not_a_photo', `need one of ${photoTypes.join(', ')}`);
        const piece = pieces.find(request.params.id);
        const name = await photos.save(piece, bytes);
        pieces.addPhoto(piece.id, name, clock.nowMs());
        void reply.code(201);
        return { name };
      },
    );
  });
}

function viewOf(piece: Piece): PieceAnswer {
  const { id, system, kind, addedMs, source, arrival, fragOf, place, ill, lost, photos, events } = piece;
  const instant = (timeMs: number) => new Date(timeMs).toISOString();
  return {
    id,
    system,
    kind,
    added: instant(addedMs),
    source: source ?? null,
    arrival: arrival ?? null,
    frag_of: fragOf ?? null,
    place: place ?? null,
    photos,
    ill: ill === undefined ? null : { since: instant(ill.sinceMs), sign: ill.sign, ...illnesses[ill.sign] },
    lost: lost === undefined ? null : { time: instant(lost.timeMs), cause: lost.cause },
    events: events.map(({ entry, timeMs, event, body }) => ({ entry, time: instant(timeMs), event, more: body })),
  };
}
