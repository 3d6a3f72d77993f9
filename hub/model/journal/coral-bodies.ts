import * as z from 'zod';
import { illnessSigns } from '#rules/arrivals/illness.ts';
import { ofPerson } from './person-fields.ts';
import { lossCauses } from './reasons.ts';

const piecesOfKind = z.object({ kind: z.string(), count: z.number(), longest_cm: z.number().optional() });
const ofArrival = { ...ofPerson, arrival: z.string().optional(), name: z.string().optional() };
const ofRun = { ...ofPerson, arrival: z.string(), runId: z.string() };
const ofStep = { ...ofRun, step: z.number(), stepKind: z.string() };

/** New corals, from the day they are expected to the last step of their protocols. */
export const arrival = z.discriminatedUnion('event', [
  z.object({
    ...ofArrival,
    event: z.enum(['arrived', 'expected', 'deleted']),
    pieces: z.array(piecesOfKind).optional(),
  }),
  z.object({ ...ofArrival, event: z.literal('inspected'), findings: z.string() }),
  z.object({ ...ofArrival, event: z.literal('rack_set'), height_cm: z.number(), day: z.number() }),
  z.object({ ...ofStep, event: z.literal('run_step'), cautions: z.array(z.string()) }),
  z.object({ ...ofStep, event: z.literal('run_timer'), call: z.looseObject({}) }),
  z.object({ ...ofStep, event: z.literal('run_timed'), tookMs: z.number(), earlyMs: z.number() }),
  z.object({ ...ofStep, event: z.literal('run_ended_early'), earlyMs: z.number() }),
  z.object({ ...ofStep, event: z.literal('run_undone') }),
  z.object({ ...ofRun, event: z.enum(['run_finished', 'run_deleted']) }),
]);

const ofPiece = { ...ofPerson, piece: z.string() };

/** One frag or colony of the register. */
export const piece = z.discriminatedUnion('event', [
  z.object({
    ...ofPiece,
    event: z.literal('added'),
    kind: z.string(),
    height_cm: z.number().optional(),
    source: z.string().optional(),
    arrival: z.string().optional(),
    place: z.string().optional(),
    /** The piece that it was cut from. */
    frag_of: z.string().optional(),
  }),
  z.object({ ...ofPiece, event: z.literal('moved'), place: z.string(), height_cm: z.number().optional() }),
  z.object({ ...ofPiece, event: z.literal('ill'), sign: z.enum(illnessSigns) }),
  z.object({ ...ofPiece, event: z.literal('well') }),
  z.object({ ...ofPiece, event: z.literal('dipped'), run: z.string().optional() }),
  z.object({ ...ofPiece, event: z.literal('fragged'), frags: z.number() }),
  z.object({ ...ofPiece, event: z.literal('lost'), cause: z.enum(lossCauses) }),
  z.object({ ...ofPiece, event: z.literal('growth'), longest_cm: z.number().optional() }),
  z.object({ ...ofPiece, event: z.enum(['photo', 'photo_deleted']), file: z.string() }),
]);
