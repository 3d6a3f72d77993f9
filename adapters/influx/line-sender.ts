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

/** Bad line, too long, or outside what the bucket keeps. A wrong token or an unknown database is not the line's fault. */
const refusals = new Set([400, 413, 422]);

// The client writes every failure to the console by itself; here each failure is a result.
setLogger({ error: () => {}, warn: () => {} });

/**
 * Sends line protocol with the library's transport alone. Its write API would repeat by itself, in memory and for a limited
 * time, and takes a missing status, 201 and some failures for success; here 204 alone counts.
 */
export function createLineSender(target: InfluxTarget): LineSender {
  const { transport } = new InfluxDB({
    url: target.url,
    timeout: target.timeoutMs ?? 15_000,
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
      const answered = (result: SendResult) => {
        signal.removeEventListener('abort', giveUp);
        resolve(result);
      };
      transport.send(
        path,
        lines,
        { method: 'POST', headers, gzipThreshold: 1_000, signal: ofThisSend.signal },
        {
          responseStarted: (_headers, statusCode) => {
            status = statusCode;
          },
          error: (error) => answered(failureOf(error)),
          complete: () => {
            if (status === 204) answered({ ok: true });
            else answered({ ok: false, kind: 'later', detail: `answered ${status ?? 'nothing'}, need 204` });
          },
        },
      );
    });
}

function failureOf(error: Error): SendResult {
  const text = error.message.slice(0, 300);
  if (!(error instanceof HttpError)) return { ok: false, kind: 'later', detail: text };
  const kind = refusals.has(error.statusCode) ? 'refused' : 'later';
  return { ok: false, kind, detail: `answered ${error.statusCode}: ${text}` };
}
