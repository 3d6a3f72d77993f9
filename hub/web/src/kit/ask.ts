import { signal } from '@preact/signals';
import { addressOf } from '../../../api/address.ts';
import type { AnswerOf, AskedOf, Route } from '../../../api/contract.ts';
import type { Problem as ProblemAnswer } from '../../../api/problem.ts';

/** Set when the hub answers that it does not know who asks; the sign-in then stands in place of the room. */
export const isSignInNeeded = signal(false);

/** A phone that walks out of the door leaves its request hanging. */
const usuallyWithinMs = 8_000;
/** For what a small board works on: a review of a week, a year of a database, the corrected readings of months. */
export const slowlyWithinMs = 120_000;

/** What the hub said of a request that it did not take; status 0 when it did not answer at all. */
export type Problem = Pick<ProblemAnswer, 'status' | 'title' | 'detail' | 'doubt'> & {
  errors: NonNullable<ProblemAnswer['errors']>;
  /** How long to wait before asking again, where the hub says so. */
  retryAfterS?: number;
};

export type Outcome<Body> = { ok: true; body: Body; headers: Headers } | { ok: false; problem: Problem };

export type Asking = {
  method?: 'GET' | 'POST' | 'DELETE';
  /** Sent as JSON; a file as it is, with the type that its device gives it. */
  body?: unknown;
  /** Stops the question when its answer is wanted no more: it then ends as one without an answer. */
  stop?: AbortSignal;
  withinMs?: number;
};

const hubIsAway: Problem = {
  status: 0,
  title: 'The hub does not answer',
  errors: [],
  detail: 'Try again when it is back.',
};

/**
 * Every question of the page to the hub goes through here: one limit of time, one way to a sign-in, and one form of what the
 * hub does not take, whatever answered. It never throws.
 *
 * @param path  below `api/`, with everything in it encoded
 */
export async function ask<Body>(path: string, asking: Asking = {}): Promise<Outcome<Body>> {
  const { method = 'GET', body, stop, withinMs = usuallyWithinMs } = asking;
  try {
    const late = AbortSignal.timeout(withinMs);
    const response = await fetch(`./api/${path}`, {
      method,
      cache: 'no-store',
      signal: stop === undefined ? late : AbortSignal.any([late, stop]),
      ...contentOf(body),
    });
    if (response.status === 401) isSignInNeeded.value = true;
    const text = await response.text();
    if (!response.ok) return { ok: false, problem: problemOf(response, text) };
    return { ok: true, body: (text === '' ? null : JSON.parse(text)) as Body, headers: response.headers };
  } catch {
    return { ok: false, problem: hubIsAway };
  }
}

/** The same to a route of the contract, with what it takes and what it answers. */
export function askRoute<Name extends Route>(
  route: Name,
  asked: AskedOf<Name>,
  asking: Pick<Asking, 'stop' | 'withinMs'> = {},
): Promise<Outcome<AnswerOf<Name>>> {
  const { method, path, body } = addressOf(route, asked);
  return ask(path.slice('/api/'.length), { ...asking, method, body });
}

/** A file as the whole body, with the type that its device gives it. */
export function sendFile<Name extends Route>(
  route: Name,
  asked: AskedOf<Name>,
  file: File,
): Promise<Outcome<AnswerOf<Name>>> {
  const { method, path } = addressOf(route, asked);
  return ask(path.slice('/api/'.length), { method, body: file });
}

function contentOf(body: unknown): Pick<RequestInit, 'headers' | 'body'> {
  if (body === undefined) return {};
  if (body instanceof File) return { headers: { 'content-type': body.type }, body };
  return { headers: { 'content-type': 'application/json' }, body: JSON.stringify(body) };
}

/** Problem details; of an answer that is none, such as that of a proxy between, its status. @source RFC 9457 */
function problemOf(response: Response, text: string): Problem {
  const isDetailed = response.headers.get('content-type')?.includes('json') === true;
  const { title, detail, errors = [], doubt } = (isDetailed ? JSON.parse(text) : {}) as Partial<ProblemAnswer>;
  const wait = response.headers.get('retry-after');
  return {
    status: response.status,
    title: title ?? 'Not done',
    errors,
    detail: detail ?? title ?? `the hub answered ${response.status}`,
    doubt,
    ...(wait === null ? {} : { retryAfterS: Number(wait) }),
  };
}
