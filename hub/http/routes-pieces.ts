import * as z from 'zod';
import { mostPhotoBytes, photoTypes } from '../judgement/pieces/photos.ts';
import type { Piece } from '../judgement/pieces/pieces.ts';
import { pieceEventSchema, pieceSchema } from '../model/entries/arrival-schemas.ts';
import { lossCauses } from '../model/journal/reasons.ts';
import { Refused } from '../model/refusals/refused.ts';
import type { HttpParts, TypedServer } from './parts.ts';

const tags = ['pieces'];
const pieceId = z.object({ id: z.string().min(1).max(40) });

const pieceView = z.object({
  id: z.string(),
  system: z.string(),
  kind: z.string(),
  added: z.string(),
  source: z.string().nullable(),
  arrival: z.string().nullable(),
  frag_of: z.string().nullable(),
  place: z.string().nullable(),
  lost: z.object({ time: z.string(), cause: z.enum(lossCauses) }).nullable(),
  photos: z.array(z.string()),
  events: z.array(z.object({ time: z.string(), event: z.string(), more: z.record(z.string(), z.unknown()) })),
});

export type PieceAnswer = z.infer<typeof pieceView>;

const span = z.object({
  from: z.iso.datetime({ offset: true }),
  to: z.iso.datetime({ offset: true }),
  system: z.string().optional(),
});

export function addPieceRoutes(server: TypedServer, { clock, reception }: HttpParts): void {
  const { pieces, photos } = reception;
  const now = () => clock.nowMs();

  server.post(
    '/api/pieces',
    { schema: { summary: 'A piece joins the register', tags, body: pieceSchema, response: { 201: pieceView } } },
    (request, reply) => {
      const piece = pieces.add(request.body, now());
      void reply.code(201);
      return viewOf(piece);
    },
  );

  server.get(
    '/api/pieces',
    {
      schema: {
        summary: 'The register of pieces',
        tags,
        querystring: z.object({
          system: z.string().optional(),
          arrival: z.string().optional(),
          here: z.enum(['true', 'false']).default('false').describe('true: without those that were lost'),
        }),
        response: { 200: z.array(pieceView) },
      },
    },
    (request) => {
      const { system, arrival, here } = request.query;
      return pieces.all({ system, arrival, isHere: here === 'true' }).map(viewOf);
    },
  );

  server.get(
    '/api/pieces/losses',
    {
      schema: {
        summary: 'What was lost in a span, by cause',
        tags,
        querystring: span,
        response: { 200: z.object({ lost: z.number(), by_cause: z.partialRecord(z.enum(lossCauses), z.number()) }) },
      },
    },
    (request) => {
      const { from, to, system } = request.query;
      const { lost, byCause } = pieces.losses(Date.parse(from), Date.parse(to), system);
      return { lost, by_cause: byCause };
    },
  );

  server.get(
    '/api/pieces/:id',
    { schema: { summary: 'A piece and what befell it', tags, params: pieceId, response: { 200: pieceView } } },
    (request) => viewOf(pieces.find(request.params.id)),
  );

  server.post(
    '/api/pieces/:id/events',
    {
      schema: {
        summary: 'Moved, dipped, fragged, lost, or how it grew; frags join the register',
        tags,
        params: pieceId,
        body: pieceEventSchema,
        response: { 201: z.object({ piece: pieceView, frags: z.array(pieceView) }) },
      },
    },
    (request, reply) => {
      const { piece, frags } = pieces.tell(request.params.id, request.body, now());
      void reply.code(201);
      return { piece: viewOf(piece), frags: frags.map(viewOf) };
    },
  );

  server.get(
    '/api/photos/:name',
    { schema: { summary: 'A photo of a piece', tags, params: z.object({ name: z.string().min(1).max(60) }) } },
    async (request, reply) => {
      const { type, stream } = await photos.open(request.params.name);
      return reply.type(type).header('content-disposition', 'inline').send(stream);
    },
  );

  addPhotoIntake(server, { clock, reception } as HttpParts);
}

/** The only place that reads anything but JSON, so that the rest stays as narrow as it is. */
function addPhotoIntake(outer: TypedServer, { clock, reception }: Pick<HttpParts, 'clock' | 'reception'>): void {
  const { pieces, photos } = reception;
  void outer.register(async (scope) => {
    scope.addContentTypeParser(photoTypes, { parseAs: 'buffer', bodyLimit: mostPhotoBytes }, (_request, body, done) =>
      done(null, body),
    );
    const server = scope as TypedServer;
    server.post(
      '/api/pieces/:id/photos',
      {
        bodyLimit: mostPhotoBytes,
        schema: {
          summary: `Keep a photo: ${photoTypes.join(', ')} as the body, at most ${mostPhotoBytes} bytes`,
          tags,
          params: pieceId,
          response: { 201: z.object({ name: z.string() }) },
        },
      },
      async (request, reply) => {
        const bytes: unknown = request.body;
        if (!Buffer.isBuffer(bytes)) throw new Refused('not_a_photo', `need one of ${photoTypes.join(', ')}`);
        const piece = pieces.find(request.params.id);
        const name = await photos.save(piece.id, piece.photos.length, bytes);
        pieces.addPhoto(piece.id, name, clock.nowMs());
        void reply.code(201);
        return { name };
      },
    );
  });
}

function viewOf(piece: Piece): z.infer<typeof pieceView> {
  const { id, system, kind, addedMs, source, arrival, fragOf, place, lost, photos, events } = piece;
  const instant = (timeMs: number) => new Date(timeMs).toISOString();
  return {
    ...{ id, system, kind, added: instant(addedMs), source: source ?? null, arrival: arrival ?? null },
    ...{ frag_of: fragOf ?? null, place: place ?? null, photos },
    lost: lost === undefined ? null : { time: instant(lost.timeMs), cause: lost.cause },
    events: events.map(({ timeMs, event, body }) => ({ time: instant(timeMs), event, more: body })),
  };
}
