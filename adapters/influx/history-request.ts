import type { HistoryAnswer } from '../ports/history.ts';
import { askServer, type InfluxTarget, short } from './ask-server.ts';

/** 2000 intervals of a dozen probes are a twentieth of it. */
const mostAnswerBytes = 8_000_000;

export type Fetched = { ok: true; document: unknown } | (HistoryAnswer & { ok: false });

/** Asks a time-series server for a JSON document. Never throws; waits and reads no longer than there is sense in it. */
export type HistoryRequest = (path: string, query: Record<string, string>, signal: AbortSignal) => Promise<Fetched>;

export function createHistoryRequest(target: InfluxTarget): HistoryRequest {
  return async (path, query, signal) => {
    const headers = { accept: 'application/json' };
    const answer = await askServer(target, { path, query, headers, mostAnswerBytes }, signal);
    if (answer.is === 'away') return { ok: false, kind: 'away', detail: answer.detail };
    if (answer.is === 'unread') return { ok: false, kind: answer.isTooLong ? 'unread' : 'away', detail: answer.detail };
    const { status, text } = answer;
    if (status < 200 || status > 299)
      return { ok: false, kind: 'refused', detail: `answered ${status}: ${short(text)}` };
    try {
      return { ok: true, document: JSON.parse(text) as unknown };
    } catch {
      return { ok: false, kind: 'unread', detail: 'an answer that is no JSON' };
    }
  };
}
