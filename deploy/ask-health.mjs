// Asks the hub whether it is well: node ask-health.mjs CONFIG SECONDS [SETTLE]
// Exit 0 when /health answered 200, and after SETTLE seconds once more from the same start of the hub; 3 when it says, and
// after SETTLE seconds still, that it waits for its configuration to be corrected (`run --wait-for-config`); 1 when neither came
// within SECONDS. Prints the time of the start, which tells one run of the hub from the next, or that it waits.
import { readFileSync } from 'node:fs';
import { request as requestHttp } from 'node:http';
import { request as requestHttps } from 'node:https';
import { parse } from 'yaml';

const [configPath, seconds = '60', settle = '0'] = process.argv.slice(2);
const http = blockIn(configPath).http ?? {};
const isOpenToAll = !(typeof http.host === 'string') || ['0.0.0.0', '::'].includes(http.host);
const host = isOpenToAll ? '127.0.0.1' : http.host;
const port = Number.isInteger(http.port) && http.port > 0 && http.port < 65_536 ? http.port : 8740;
const waits = 'waits for its configuration';

/** A hub that waits answers by what can be read of a file with mistakes, and where nothing can, at the usual port. */
function blockIn(path) {
  try {
    return parse(readFileSync(path, 'utf8')) ?? {};
  } catch {
    return {};
  }
}

/** The start that the hub tells of, or that it waits; undefined for anything else. */
async function stateOfHub() {
  const isTls = http.tls !== undefined && http.tls !== null && http.tls !== false;
  const state = await ask(isTls ? requestHttps : requestHttp);
  // While it waits it has no certificate yet.
  return state === undefined && isTls ? await ask(requestHttp) : state;
}

function ask(request) {
  return new Promise((resolve) => {
    // On this very machine; a certificate for another name says nothing about its health.
    const asking = request({ host, port, path: '/health', timeout: 5000, rejectUnauthorized: false }, (response) => {
      let text = '';
      response.setEncoding('utf8');
      response.on('data', (part) => {
        text += part;
      });
      response.on('end', () => resolve(stateIn(response.statusCode, text)));
      response.on('error', () => resolve(undefined));
    });
    asking.on('timeout', () => asking.destroy());
    asking.on('error', () => resolve(undefined));
    asking.end();
  });
}

function stateIn(status, text) {
  try {
    const body = JSON.parse(text);
    if (status === 200) return String(body.started ?? 'unknown');
    return body.type === 'urn:brinekeep:problem:configuration' ? waits : undefined;
  } catch {
    return undefined;
  }
}

const pause = (ms) => new Promise((resolve) => setTimeout(resolve, ms));
const end = performance.now() + Number(seconds) * 1000;
let state;
do {
  state = await stateOfHub();
  if (state !== undefined && Number(settle) > 0) {
    await pause(Number(settle) * 1000);
    // One that answers once and falls over is not well.
    if ((await stateOfHub()) !== state) state = undefined;
  }
  if (state !== undefined) break;
  await pause(250);
} while (performance.now() < end);
if (state !== undefined) process.stdout.write(`${state}\n`);
process.exitCode = state === undefined ? 1 : state === waits ? 3 : 0;
