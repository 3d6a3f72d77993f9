import * as z from 'zod';
import { illnessSigns } from '#rules/arrivals/illness.ts';
import { pieceEventSchema, pieceSchema } from '../model/entries/arrival-schemas.ts';
import { mostPhotoBytes, photoTypes } from '../model/entries/photo-limits.ts';
import { lossCauses } from '../model/journal/reasons.ts';
import { byId } from './by-id.ts';

const tags = ['pieces'];

const photoName = z.object({ name: z.string().min(1).max(60) });

const pieceView = z.object({
  id: z.string(),
  system: z.string(),
  kind: z.string(),
  added: z.string(),
  source: z.string().nullable(),
  arrival: z.string().nullable(),
  frag_of: z.string().nullable(),
  place: z.string().nullable(),
  ill: z
    .object({ since: z.string(), sign: z.enum(illnessSigns), what: z.string(), first: z.string() })
    .nullable()
    .describe('what was seen of it last that is not well, and what to do first'),
  lost: z.object({ time: z.string(), cause: z.enum(lossCauses) }).nullable(),
  photos: z.array(z.string()),
  events: z.array(
    z.object({
      entry: z.number().describe('id of the entry, to take it back by'),
      time: z.string(),
      event: z.string(),
      more: z.record(z.string(), z.unknown()),
    }),
  ),
});

export type PieceAnswer = z.infer<typeof pieceView>;

const span = z.object({
  from: z.iso.datetime({ offset: true }),
  to: z.iso.datetime({ offset: true }),
  system: z.string().optional(),
});

export const pieceApi = {
  'POST /api/pieces': { summary: 'Add a piece to the register', tags, body: pieceSchema, response: { 201: pieceView } },
  'GET /api/pieces': {
    summary: 'The register of pieces',
    tags,
    querystring: z.object({
      system: z.string().optional(),
      arrival: z.string().optional(),
      here: z.enum(['true', 'false']).default('false').describe('true: without lost pieces'),
    }),
    response: { 200: z.array(pieceView) },
  },
  'GET /api/pieces/losses': {
    summary: 'Pieces lost in a span, by cause',
    tags,
    querystring: span,
    response: { 200: z.object({ lost: z.number(), by_cause: z.partialRecord(z.enum(lossCauses), z.number()) }) },
  },
  'GET /api/pieces/:id': { summary: 'A piece and its events', tags, params: byId, response: { 200: pieceView } },
  'POST /api/pieces/:id/events': {
    summary:
      'Log that a piece was moved, dipped, fragged, ill, well again or lost, or how it grew; frags join the register',
    tags,
    params: byId,
    body: pieceEventSchema,
    response: { 201: z.object({ piece: pieceView, frags: z.array(pieceView) }) },
  },
  'GET /api/photos/:name': {
    summary: 'A photo of a piece',
    tags,
    params: photoName,
  },
  'DELETE /api/photos/:name': {
    summary: 'Delete a photo for good; the history of its piece says so. A copy in a backup stays',
    tags,
    params: photoName,
    response: { 204: z.null() },
  },
  'POST /api/pieces/:id/photos': {
    summary: `Keep a photo: ${photoTypes.join(', ')} as the body, at most ${mostPhotoBytes} bytes`,
    tags,
    params: byId,
    response: { 201: z.object({ name: z.string() }) },
  },
};
