import * as z from 'zod';
import { scopes } from '../model/access/scope.ts';

const tags = ['access'];

/** Done; the answer is empty. */
const done = { 204: z.null() };

const session = z.object({
  needed: z.boolean().describe('a sign-in is needed'),
  signed_in: z.boolean(),
  by: z.enum(['session', 'token', 'machine']).nullable().describe('how the caller got in'),
  scope: z.enum(scopes).nullable(),
});

export const accessApi = {
  'GET /api/session': {
    summary: 'Whether a sign-in is needed, and whether this is one',
    tags,
    response: { 200: session },
  },
  'POST /api/session': {
    summary: 'Sign in: sets the session cookie',
    tags,
    body: z.strictObject({ passphrase: z.string().max(1024) }),
    response: done,
  },
  'DELETE /api/session': { summary: 'Sign out', tags, response: done },
  'DELETE /api/sessions': { summary: 'Sign out everywhere', tags, response: done },
};
