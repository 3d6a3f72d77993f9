import { X509Certificate } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { request } from 'node:http';
import { connect as connectPlain, type Socket } from 'node:net';
import { connect as connectTls } from 'node:tls';
import { defined } from '#rules/plain-data/defined.ts';
import type { Config } from '../model/config/schema.ts';
import { Refused } from '../model/refusals/refused.ts';
import { hubAddress } from '../outside/access/where-to-listen.ts';
import { readConfig } from './read-config.ts';
import type { Terminal } from './terminal.ts';

export type HubPlace = { config: string; tokenFile?: string | undefined };

/** `fileName` is that of an answer which is a file to keep. */
export type HubAnswer = { status: number; text: string; fileName?: string };

/** Where the token for a hub with a passphrase comes from, as the help of a verb says it. */
export const tokenFlag = [
  '--token-file <file>',
  'file with a token for the hub; BRINEKEEP_TOKEN when left out',
] as const;

/**
 * Asks the running hub of a configuration, with the token of the person if there is one.
 *
 * @throws Refused not_done when no hub answers, or another one does; wrong_usage for a token file that cannot be read
 */
export async function askRunningHub(
  place: HubPlace,
  terminal: Terminal,
  method: string,
  route: string,
  body?: unknown,
): Promise<HubAnswer> {
  const { http } = readConfig(place.config, terminal);
  const token = tokenOf(place.tokenFile);
  const answer = await exchange(http, method, route, token, body).catch((error: unknown) => {
    if (error instanceof Refused) throw error;
    const { host, port } = hubAddress(http);
    throw new Refused('not_done', `no hub answers at ${host}:${port}. Start it with: brinekeep run ${place.config}`);
  });
  if (answer.status === 401) {
    throw new Refused(
      'not_done',
      token === undefined
        ? `the hub needs a token. Make one with: brinekeep token add ${place.config} --name NAME --scope enter, then set BRINEKEEP_TOKEN, or save it in a file for --token-file.`
        : 'the hub does not know this token: it was revoked, or belongs to another hub',
    );
  }
  return answer;
}

/** True when a hub, or something else, accepts connections where this one would listen. */
export async function isHubThere(http: Config['http']): Promise<boolean> {
  const socket = await connected(http).catch(() => undefined);
  socket?.destroy();
  return socket !== undefined;
}

function tokenOf(file: string | undefined): string | undefined {
  if (file === undefined) return process.env['BRINEKEEP_TOKEN']?.trim() || undefined;
  try {
    return readFileSync(file, 'utf8').trim();
  } catch {
    throw new Refused('wrong_usage', `${file}: the token file cannot be read`);
  }
}

/** Without a limit of time: to calibrate months of readings again takes minutes on a small board. */
async function exchange(
  http: Config['http'],
  method: string,
  path: string,
  token: string | undefined,
  body: unknown,
): Promise<HubAnswer> {
  const { host, port } = hubAddress(http);
  const socket = await connected(http);
  const json = body === undefined ? {} : { 'content-type': 'application/json' };
  const authorization = token === undefined ? {} : { authorization: `Bearer ${token}` };
  return new Promise((resolve, reject) => {
    const headers = { host: `${host.includes(':') ? `[${host}]` : host}:${port}`, ...json, ...authorization };
    const sent = request({ method, path, headers, createConnection: () => socket }, (response) => {
      let text = '';
      response.setEncoding('utf8');
      response.on('data', (chunk: string) => {
        text += chunk;
      });
      response.on('end', () => {
        const fileName = /filename="([^"/\\]+)"/.exec(response.headers['content-disposition'] ?? '')?.[1];
        resolve({ status: response.statusCode ?? 0, text, ...defined({ fileName }) });
      });
      response.on('error', reject);
    });
    sent.on('error', reject);
    sent.end(body === undefined ? undefined : JSON.stringify(body));
  });
}

/**
 * Over TLS the hub is known by the very certificate of the configuration, so that one which it signed itself, or which
 * bears the name that phones use, does for the loopback address as well. Nothing is sent before that is seen.
 */
function connected(http: Config['http']): Promise<Socket> {
  const { host, port } = hubAddress(http);
  const { cert_file } = http;
  return new Promise((resolve, reject) => {
    if (cert_file === undefined) {
      const socket = connectPlain({ host, port });
      socket.once('connect', () => resolve(socket));
      socket.once('error', reject);
      return;
    }
    const expected = new X509Certificate(readFileSync(cert_file)).fingerprint256;
    const socket = connectTls({ host, port, rejectUnauthorized: false });
    socket.once('error', reject);
    socket.once('secureConnect', () => {
      if (socket.getPeerX509Certificate()?.fingerprint256 === expected) return resolve(socket);
      socket.destroy();
      const why = `the certificate shown at ${host}:${port} is not ${cert_file}`;
      reject(new Refused('not_done', `${why}; was it renewed? Then restart the hub.`));
    });
  });
}
