import { request } from 'node:http';
import { expect } from 'vitest';

export type Answer = {
  status: number;
  type: string;
  headers: Record<string, string | string[] | undefined>;
  text: string;
  /** The body as JSON. @throws when it is none */
  json<Body = Record<string, unknown>>(): Body;
};

export type Asked = { method?: string; headers?: Record<string, string>; body?: unknown; raw?: string };

/** One request with exactly the headers that are given: `fetch` allows neither another Host nor another Origin. */
export function ask(base: string, path: string, asked: Asked = {}): Promise<Answer> {
  const { hostname, port } = new URL(base);
  const text = asked.raw ?? (asked.body === undefined ? undefined : JSON.stringify(asked.body));
  const method = asked.method ?? (text === undefined ? 'GET' : 'POST');
  const headers = { ...(text === undefined ? {} : { 'content-type': 'application/json' }), ...asked.headers };
  return new Promise((resolve, reject) => {
    const sent = request({ hostname, port, path, method, headers, agent: false }, (response) => {
      let body = '';
      response.setEncoding('utf8');
      response.on('data', (chunk: string) => (body += chunk));
      response.on('end', () =>
        resolve({
          status: response.statusCode ?? 0,
          type: response.headers['content-type'] ?? '',
          headers: response.headers,
          text: body,
          json: <Body>() => JSON.parse(body) as Body,
        }),
      );
      response.on('error', reject);
    });
    sent.on('error', reject);
    sent.end(text);
  });
}

type Problem = {
  type: string;
  title: string;
  status: number;
  detail: string;
  errors?: { field: string }[];
  doubt?: unknown;
};

/** The problem details of an answer (RFC 9457): content type, the status repeated inside, words for a person. */
export function problemIn(answer: Answer, status: number): Problem {
  expect({ status: answer.status, text: answer.status === status ? '' : answer.text }).toEqual({ status, text: '' });
  expect(answer.type).toMatch(/^application\/problem\+json(;|$)/);
  const problem = answer.json<Problem>();
  expect(problem.status).toBe(status);
  expect(problem.type).toMatch(/^(about:blank$|urn:brinekeep:problem:)/);
  expect(problem.title).toMatch(/\S/);
  expect(problem.detail).toMatch(/\S/);
  // Of the hub's insides nothing goes out.
  expect(answer.text).not.toMatch(/\bat .*\.(ts|js):\d+|node_modules/);
  return problem;
}
