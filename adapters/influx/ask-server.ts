export type InfluxTarget = {
  url: string;
  /** `v1` for InfluxDB 1.x and for servers that speak its `/write`, such as VictoriaMetrics. */
  api: 'v2' | 'v1';
  org: string;
  bucket: string;
  database: string;
  username?: string;
  /** The token; with `username` the password. */
  token?: string;
  /** Longest wait for a whole answer, ms. */
  timeoutMs?: number;
};

export type Question = {
  path: string;
  query: Record<string, string>;
  /** What is posted; absent: a GET. */
  body?: Uint8Array<ArrayBuffer>;
  headers?: Record<string, string>;
  /** More of an answer is not read. */
  mostAnswerBytes: number;
};

/**
 * `away`: no status came in time. `unread`: the status came, and the rest was too long (`isTooLong`), late, or cut off.
 */
export type Answered =
  | { is: 'read'; status: number; text: string }
  | { is: 'unread'; status: number; isTooLong: boolean; detail: string }
  | { is: 'away'; detail: string };

const answerWithinMs = 15_000;

/**
 * Asks a time-series server once, signed in, and reads no longer than there is sense in it. Never throws; follows no
 * redirection, since a password would go with it.
 */
export async function askServer(target: InfluxTarget, question: Question, signal: AbortSignal): Promise<Answered> {
  const { path, query, body, headers, mostAnswerBytes } = question;
  const address = `${target.url.replace(/\/+$/, '')}${path}?${new URLSearchParams(query).toString()}`;
  const ending = new AbortController();
  const giveUp = () => ending.abort();
  const timer = setTimeout(giveUp, target.timeoutMs ?? answerWithinMs);
  signal.addEventListener('abort', giveUp, { once: true });
  if (signal.aborted) giveUp();
  const failure = (error: unknown) => {
    if (!ending.signal.aborted) return reasonOf(error);
    return signal.aborted ? 'stopped' : 'no answer in time';
  };
  let status: number | undefined;
  try {
    const response = await fetch(address, {
      ...(body !== undefined && { method: 'POST', body }),
      headers: { ...headers, ...signIn(target) },
      redirect: 'error',
      signal: ending.signal,
    });
    status = response.status;
    const text = await readBounded(response, mostAnswerBytes);
    if (text !== undefined) return { is: 'read', status, text };
    return { is: 'unread', status, isTooLong: true, detail: `an answer of more than ${mostAnswerBytes} bytes` };
  } catch (error) {
    const detail = failure(error);
    return status === undefined ? { is: 'away', detail } : { is: 'unread', status, isTooLong: false, detail };
  } finally {
    clearTimeout(timer);
    signal.removeEventListener('abort', giveUp);
  }
}

function signIn({ username, token }: InfluxTarget): Record<string, string> {
  if (username !== undefined)
    return { authorization: `Basic ${Buffer.from(`${username}:${token ?? ''}`).toString('base64')}` };
  return token === undefined ? {} : { authorization: `Token ${token}` };
}

async function readBounded(response: Response, mostBytes: number): Promise<string | undefined> {
  const chunks: Uint8Array[] = [];
  let bytes = 0;
  for await (const chunk of response.body ?? []) {
    bytes += chunk.length;
    // Leaving the loop gives the rest of the body up.
    if (bytes > mostBytes) return undefined;
    chunks.push(chunk);
  }
  return Buffer.concat(chunks).toString('utf8');
}

function reasonOf(error: unknown): string {
  const cause = error instanceof Error ? (error.cause ?? error) : error;
  const code = (cause as NodeJS.ErrnoException | undefined)?.code;
  return code ?? short(String(cause instanceof Error ? cause.message : cause));
}

/** What a server said, as one line. */
export function short(text: string): string {
  return text.replace(/\s+/g, ' ').trim().slice(0, 200);
}
