import { promisify } from 'node:util';
import { constants, createGzip, gzip } from 'node:zlib';
import type { FastifyReply, FastifyRequest } from 'fastify';

const gzipped = promisify(gzip);

/** Below this a packet is a packet. */
const leastBytes = 1400;
/** What is text: pictures and fonts are compressed already, and an event stream must leave at once. */
const compressible = /^(text\/(?!event-stream)|application\/([\w.+-]*json|javascript|manifest\+json)|image\/svg)/;

function isWanted({ headers, method }: FastifyRequest, reply: FastifyReply): boolean {
  const accepted = String(headers['accept-encoding'] ?? '');
  return (
    method === 'GET' &&
    /(^|[,\s])gzip(?!\s*;\s*q=0(\.0*)?\s*(,|$))/i.test(accepted) &&
    compressible.test(String(reply.getHeader('content-type') ?? '')) &&
    reply.getHeader('content-encoding') === undefined &&
    // A part of a file is a part of the file as it is.
    reply.statusCode !== 206
  );
}

/**
 * A hook before sending: text leaves as gzip when the other end takes it (RFC 9110, 12.5.3). Not for event streams, which
 * are sent past the hooks. Level 5 takes a third less time than the default for a hundredth more bytes.
 */
export async function compressAnswer(request: FastifyRequest, reply: FastifyReply, payload: unknown): Promise<unknown> {
  if (!isWanted(request, reply)) return payload;
  reply.header('vary', 'accept-encoding');
  if (typeof payload === 'string' || Buffer.isBuffer(payload)) {
    if (Buffer.byteLength(payload) < leastBytes) return payload;
    const packed = await gzipped(payload, { level: 5 });
    reply.header('content-encoding', 'gzip').header('content-length', packed.byteLength);
    return packed;
  }
  if (!isReadable(payload)) return payload;
  reply.header('content-encoding', 'gzip').removeHeader('content-length');
  const packing = createGzip({ level: constants.Z_DEFAULT_COMPRESSION });
  payload.once('error', (error: Error) => packing.destroy(error));
  return payload.pipe(packing);
}

function isReadable(payload: unknown): payload is NodeJS.ReadableStream {
  return typeof payload === 'object' && payload !== null && 'pipe' in payload && typeof payload.pipe === 'function';
}
