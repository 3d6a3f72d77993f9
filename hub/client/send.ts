/** One request to the API of a hub, and what came of it. The answer has the type that the caller knows it to have. */
export type Send = <Answer>(asked: Asked) => Promise<Answer>;

type Asked = {
  method: string;
  /** With everything in it already encoded. */
  path: string;
  query?: Record<string, string | number | boolean | undefined> | undefined;
  body?: unknown;
};

/** Problem details, as the hub answers what it refuses. @source RFC 9457 */
type RefusedProblem = {
  type: string;
  title: string;
  status: number;
  detail: string;
  errors?: { field: string; need: string }[];
};

/** The hub said no. */
export class HubRefused extends Error {
  readonly problem: RefusedProblem;

  constructor(problem: RefusedProblem) {
    super(`${problem.status} ${problem.title}: ${problem.detail}`);
    this.name = 'HubRefused';
    this.problem = problem;
  }
}

/**
 * Sends by `fetch`.
 *
 * @param base   where the hub is, such as http://127.0.0.1:8740
 * @param token  made by `brinekeep token add`; not needed at a hub without a passphrase
 * @returns a `send` that throws HubRefused for an answer of 400 and above, and what `fetch` throws when no hub answers
 */
export function sendOverFetch(base: string, token?: string): Send {
  return async <Answer>({ method, path, query, body }: Asked) => {
    const url = new URL(path, base);
    for (const [name, value] of Object.entries(query ?? {}))
      if (value !== undefined) url.searchParams.set(name, String(value));
    const response = await fetch(url, {
      method,
      headers: {
        ...(body === undefined ? {} : { 'content-type': 'application/json' }),
        ...(token === undefined ? {} : { authorization: `Bearer ${token}` }),
      },
      ...(body === undefined ? {} : { body: JSON.stringify(body) }),
    });
    const text = await response.text();
    const isJson = /[/+]json(;|$)/.test(response.headers.get('content-type') ?? '');
    if (response.ok) return (isJson ? JSON.parse(text) : text === '' ? undefined : text) as Answer;
    if (isJson) throw new HubRefused(JSON.parse(text) as RefusedProblem);
    const { status, statusText } = response;
    throw new HubRefused({ type: 'about:blank', title: statusText, status, detail: text.slice(0, 500) });
  };
}
