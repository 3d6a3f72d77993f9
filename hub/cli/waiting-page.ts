import type { IncomingMessage, RequestListener } from 'node:http';
import type { ConfigProblem } from '../model/config/config-problem.ts';

const ownNames = new Set(['localhost', '127.0.0.1', '[::1]']);
const againSeconds = 5;

/** Why the hub does not run: each mistake with its line, or that the file cannot be read at all. */
export type Trouble = { path: string; problems: readonly ConfigProblem[]; unreadable?: string };

function isFromHere(request: IncomingMessage): boolean {
  const isNear = /^(::ffff:)?127\.|^::1$/.test(request.socket.remoteAddress ?? '');
  return isNear && ownNames.has((request.headers.host ?? '').replace(/:\d+$/, ''));
}

/** Each mistake as a line. Who is not on this machine has not signed in, and is not told what stands in the file. */
function linesFor(trouble: Trouble, isNear: boolean): string[] {
  if (trouble.unreadable !== undefined) return [isNear ? trouble.unreadable : 'The file cannot be read.'];
  return trouble.problems.map(({ text, line, path, need }) =>
    isNear ? text : `line ${line}${path === '' ? '' : ` ${path}`}: need ${need}.`,
  );
}

const escapes: Record<string, string> = { '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;' };

function escaped(text: string): string {
  return text.replace(/[&<>"]/g, (sign) => escapes[sign] ?? sign);
}

const look =
  'body{font:17px/1.4 system-ui,sans-serif;margin:0 auto;max-width:60rem;padding:1rem;background:#12130f;color:#f5f1e4}' +
  'h1{font:600 1.6rem Georgia,serif}li{border-top:1px solid #3b3e35;padding:.5rem 0;overflow-wrap:anywhere}' +
  'ol{list-style:none;padding:0}@media(prefers-color-scheme:light){body{background:#efece2;color:#1d1f19}}';

function pageOf(title: string, lines: readonly string[], after: string): string {
  return (
    `<!doctype html><html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width">` +
    `<meta http-equiv="refresh" content="${againSeconds}"><title>Brinekeep is waiting</title><style>${look}</style></head><body><main>` +
    `<h1>${escaped(title)}</h1><ol>${lines.map((line) => `<li>${escaped(line)}</li>`).join('')}</ol>` +
    `<p>${escaped(after)}</p></main></body></html>`
  );
}

/**
 * Answers for a hub that cannot start: a page for a person, problem details (RFC 9457) for whoever asks the API. Nothing
 * is measured, watched or told meanwhile, and both say so.
 */
export function waitingPage(trouble: () => Trouble): RequestListener {
  return (request, response) => {
    const now = trouble();
    const isNear = isFromHere(request);
    const lines = linesFor(now, isNear);
    const count = now.problems.length;
    const title =
      now.unreadable === undefined
        ? `The configuration has ${count === 1 ? 'a mistake' : `${count} mistakes`}: nothing is watched`
        : 'The configuration cannot be read: nothing is watched';
    const after = `The hub starts by itself as soon as ${isNear ? now.path : 'the file'} is fixed.`;
    const isApi = /^\/(api\/|health|openapi)/.test(request.url ?? '/');
    const body = isApi
      ? JSON.stringify({
          type: 'urn:brinekeep:problem:configuration',
          title,
          status: 503,
          detail: after,
          errors: lines.map((text, index) => {
            const problem = now.problems[index];
            return problem === undefined ? { text } : { line: problem.line, path: problem.path, text };
          }),
        })
      : pageOf(title, lines, after);
    response.writeHead(503, {
      'content-type': isApi ? 'application/problem+json' : 'text/html; charset=utf-8',
      'content-security-policy': "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'",
      'cache-control': 'no-store',
      'retry-after': String(againSeconds),
    });
    response.end(request.method === 'HEAD' ? undefined : body);
  };
}
