import { HttpError, InfluxDB, setLogger } from '@influxdata/influxdb-client';

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
  /** Longest wait for an answer, ms. */
  timeoutMs?: number;
};

/**
 * `refused`: sending the same again can never help, one of the lines is bad or there are too many. `later`: waiting, or a
 * person who mends a name or a token, can help.
 */
export type SendResult = { ok: true } | { ok: false; kind: 'refused' | 'later'; detail: string };

/** `signal` gives up waiting for the answer: the result is then `later`. */
export type LineSender = (lines: string, signal: AbortSignal) => Promise<SendResult>;

/** A reason is a sentence. What is longer, or of no stated length, is not read: the library would gather all of it. */
const mostReasonBytes = 65_536;
const answerWithinMs = 15_000;

/** Bad line, too long, or outside what the bucket keeps. A wrong token or an unknown database is not the line's fault. */
const refusals = new Set([400, 413, 422]);

// The client writes every failure to the console by itself; here each failure is a result.
setLogger({ error: () => {}, warn: () => {} });

/**
 * Sends line protocol with the library's transport alone. Its write API would repeat by itself, in memory and for a limited
 * time, and takes a missing status, 201 and some failures for success; here 204 alone counts, and an answer is bounded in
 * length and time.
 */
export function createLineSender(target: InfluxTarget): LineSender {
  const { transport } = new InfluxDB({
    url: target.url,
    timeout: target.timeoutMs ?? answerWithinMs,
    ...(target.token !== undefined && target.username === undefined && { token: target.token }),
  });
  const path =
    target.api === 'v1'
      ? `/write?db=${encodeURIComponent(target.database)}&precision=ms`
      : `/api/v2/write?org=${encodeURIComponent(target.org)}&bucket=${encodeURIComponent(target.bucket)}&precision=ms`;
  const headers: Record<string, string> = { 'content-type': 'text/plain; charset=utf-8' };
  if (target.username !== undefined) {
    const login = Buffer.from(`${target.username}:${target.token ?? ''}`).toString('base64');
    headers['authorization'] = `Basic ${login}`;
  }

  return (lines, signal) =>
    new Promise((resolve) => {
      let status: number | undefined;
      // The transport never takes its listener off the signal it is given, so each send has one of its own.
      const ofThisSend = new AbortController();
      const giveUp = () => {
        ofThisSend.abort();
        resolve({ ok: false, kind: 'later', detail: 'stopped' });
      };
      if (signal.aborted) {
        giveUp();
        return;
      }
      signal.addEventListener('abort', giveUp, { once: true });
      let timer: NodeJS.Timeout | undefined;
      const answered = (result: SendResult) => {
        clearTimeout(timer);
        signal.removeEventListener('abort', giveUp);
        resolve(result);
      };
      /** What counts is known; the rest of the answer is not waited for. */
      const readNoFurther = (result: SendResult) => {
        answered(result);
        ofThisSend.abort();
      };
      transport.send(
        path,
        lines,
        { method: 'POST', headers, gzipThreshold: 1_000, signal: ofThisSend.signal },
        {
          responseStarted: (headers, statusCode = 0) => {
            status = statusCode;
            const answer = `answered ${statusCode}`;
            if (statusCode < 300) {
              if (statusCode !== 204) readNoFurther({ ok: false, kind: 'later', detail: `${answer}, need 204` });
              return;
            }
            const kind = kindOf(statusCode);
            const isShort = Number(headers['content-length'] ?? Number.POSITIVE_INFINITY) <= mostReasonBytes;
            if (!isShort && String(headers['content-type']).startsWith('application/json'))
              readNoFurther({ ok: false, kind, detail: `${answer}, with a text too long to read` });
            timer = setTimeout(
              () => readNoFurther({ ok: false, kind, detail: `${answer}, with a text that does not end` }),
              target.timeoutMs ?? answerWithinMs,
            );
          },
          error: (error) => answered(failureOf(error)),
          complete: () => {
            if (status === 204) answered({ ok: true });
            else answered({ ok: false, kind: 'later', detail: 'answered nothing, need 204' });
          },
        },
      );
    });
}

const kindOf = (statusCode: number) => (refusals.has(statusCode) ? 'refused' : 'later');

function failureOf(error: Error): SendResult {
  const text = error.message.slice(0, 300);
  if (!(error instanceof HttpError)) return { ok: false, kind: 'later', detail: text };
  return { ok: false, kind: kindOf(error.statusCode), detail: `answered ${error.statusCode}: ${text}` };
}
