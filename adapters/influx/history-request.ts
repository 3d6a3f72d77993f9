import type { HistoryAnswer } from '../ports/history.ts';
import type { InfluxTarget } from './line-sender.ts';

/** 2000 intervals of a dozen probes are a twentieth of it. */
const mostAnswerBytes = 8_000_000;
const answerWithinMs = 15_000;

export type Fetched = { ok: true; document: unknown } | (HistoryAnswer & { ok: false });

/** Asks a time-series server for a JSON document. Never throws; waits and reads no longer than there is sense in it. */
export type HistoryRequest = (path: string, query: Record<string, string>, signal: AbortSignal) => Promise<Fetched>;

export function createHistoryRequest(target: InfluxTarget): HistoryRequest {
  const headers = { accept: 'application/json', ...signIn(target) };
  return async (path, query, signal) => {
    const inTime = AbortSignal.any([signal, AbortSignal.timeout(target.timeoutMs ?? answerWithinMs)]);
    try {
      const address = `${target.url.replace(/\/+$/, '')}${path}?${new URLSearchParams(query).toString()}`;
      const response = await fetch(address, { headers, signal: inTime, redirect: 'error' });
      const text = await readBounded(response);
      if (text === undefined)
        return { ok: false, kind: 'unread', detail: `an answer of more than ${mostAnswerBytes} bytes` };
      if (!response.ok) return { ok: false, kind: 'refused', detail: `answered ${response.status}: ${short(text)}` };
      return { ok: true, document: JSON.parse(text) as unknown };
    } catch (error) {
      if (error instanceof SyntaxError) return { ok: false, kind: 'unread', detail: 'an answer that is no JSON' };
      return { ok: false, kind: 'away', detail: inTime.aborted ? 'no answer in time' : reasonOf(error) };
    }
  };
}

function signIn({ username, token }: InfluxTarget): Record<string, string> {
  if (username !== undefined)
    return { authorization: `Basic ${Buffer.from(`${username}:${token ?? ''}`).toString('base64')}` };
  return token === undefined ? {} : { authorization: `Token ${token}` };
}

async function readBounded(response: Response): Promise<string | undefined> {
  const chunks: Uint8Array[] = [];
  let bytes = 0;
  for await (const chunk of response.body ?? []) {
    bytes += chunk.length;
    // Leaving the loop gives the rest of the body up.
    if (bytes > mostAnswerBytes) return undefined;
    chunks.push(chunk);
  }
  return Buffer.concat(chunks).toString('utf8');
}

function reasonOf(error: unknown): string {
  const cause = error instanceof Error ? (error.cause ?? error) : error;
  const code = (cause as NodeJS.ErrnoException | undefined)?.code;
  return code ?? short(String(cause instanceof Error ? cause.message : cause));
}

function short(text: string): string {
  return text.replace(/\s+/g, ' ').slice(0, 200);
}
