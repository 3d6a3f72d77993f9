import type { Socket } from 'node:net';
import type { Problem } from '../../api/problem.ts';

/** What node calls the faults of a request that it cannot read. */
const statusOf: Readonly<Record<string, readonly [status: number, title: string]>> = {
  ERR_HTTP_REQUEST_TIMEOUT: [408, 'Too slow'],
  HPE_HEADER_OVERFLOW: [431, 'Headers too large'],
};

/** Answers what is no request, or did not become one in time, with problem details, and closes the connection. */
export function answerUnreadable(error: NodeJS.ErrnoException, socket: Socket): void {
  if (error.code === 'ECONNRESET' || socket.destroyed) return;
  const [status, title] = statusOf[error.code ?? ''] ?? [400, 'Not a request'];
  const detail = 'The connection is closed: what came is no whole request of HTTP/1.1.';
  const problem: Problem = { type: 'about:blank', title, status, detail };
  const body = JSON.stringify(problem);
  if (socket.writable) {
    socket.write(
      [
        `HTTP/1.1 ${status} ${title}`,
        'Content-Type: application/problem+json',
        `Content-Length: ${Buffer.byteLength(body)}`,
        'Connection: close',
        '',
        body,
      ].join('\r\n'),
    );
  }
  // Not waited for: whoever sends byte by byte reads no faster.
  socket.destroySoon();
}
