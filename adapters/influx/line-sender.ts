import { gzipSync } from 'node:zlib';
import { askServer, type InfluxTarget, short } from './ask-server.ts';

/**
 * `refused`: sending the same again can never help, one of the lines is bad or there are too many. `later`: waiting, or a
 * person who mends a name or a token, can help.
 */
export type SendResult = { ok: true } | { ok: false; kind: 'refused' | 'later'; detail: string };

/** `signal` gives up waiting for the answer: the result is then `later`. */
export type LineSender = (lines: string, signal: AbortSignal) => Promise<SendResult>;

/** A reason is a sentence. */
const mostAnswerBytes = 65_536;
/** Below it a gzipped body is hardly shorter. */
const gzipFromBytes = 1_000;

/** Bad line, too long, or outside what the bucket keeps. A wrong token or an unknown database is not the line's fault. */
const refusals = new Set([400, 413, 422]);

/** Sends line protocol once; 204 alone counts. Repeating is the outbox's part: it outlives an outage and a restart. */
export function createLineSender(target: InfluxTarget): LineSender {
  const place = target.api === 'v1' ? { db: target.database } : { org: target.org, bucket: target.bucket };
  const path = target.api === 'v1' ? '/write' : '/api/v2/write';
  const query = { ...place, precision: 'ms' };

  return async (lines, signal) => {
    const plain = Buffer.from(lines);
    const isLong = plain.length >= gzipFromBytes;
    const headers = { 'content-type': 'text/plain; charset=utf-8', ...(isLong && { 'content-encoding': 'gzip' }) };
    const body = isLong ? Buffer.from(gzipSync(plain)) : plain;
    const answer = await askServer(target, { path, query, body, headers, mostAnswerBytes }, signal);
    if (answer.is === 'away') return { ok: false, kind: 'later', detail: answer.detail };
    const { status } = answer;
    if (status === 204) return { ok: true };
    if (status >= 200 && status < 300) return { ok: false, kind: 'later', detail: `answered ${status}, need 204` };
    const reason = answer.is === 'read' ? reasonIn(answer.text) : `a text that was not read: ${answer.detail}`;
    const kind = refusals.has(status) ? 'refused' : 'later';
    return { ok: false, kind, detail: `answered ${status}: ${reason}` };
  };
}

/** Servers give the reason as text, or as JSON in `message` (InfluxDB 2) or `error` (InfluxDB 1). */
function reasonIn(text: string): string {
  try {
    const { message, error } = JSON.parse(text) as { message?: unknown; error?: unknown };
    return short(String(message ?? error ?? text));
  } catch {
    return short(text);
  }
}
