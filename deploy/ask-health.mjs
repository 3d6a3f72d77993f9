// Asks the hub whether it is well: node ask-health.mjs CONFIG SECONDS [SETTLE]
// Exit 0 when /health answered 200, and after SETTLE seconds once more from the same start of the hub; 1 when it did not
// within SECONDS. Prints the time of the start, which tells one run of the hub from the next.
import { readFileSync } from 'node:fs';
import { request as requestHttp } from 'node:http';
import { request as requestHttps } from 'node:https';
import { parse } from 'yaml';

const [configPath, seconds = '60', settle = '0'] = process.argv.slice(2);
const http = parse(readFileSync(configPath, 'utf8'))?.http ?? {};
const isOpenToAll = ['0.0.0.0', '::', undefined].includes(http.host);
const host = isOpenToAll ? '127.0.0.1' : http.host;
const port = http.port ?? 8740;

/** The start that the hub tells of; undefined for anything but a 200. */
function startOfHub() {
  const isTls = http.tls !== undefined && http.tls !== null && http.tls !== false;
  return new Promise((resolve) => {
    // On this very machine; a certificate for another name says nothing about its health.
    const ask = isTls ? requestHttps : requestHttp;
    const asking = ask({ host, port, path: '/health', timeout: 5000, rejectUnauthorized: false }, (response) => {
      let text = '';
      response.setEncoding('utf8');
      response.on('data', (part) => {
        text += part;
      });
      response.on('end', () => resolve(response.statusCode === 200 ? startIn(text) : undefined));
      response.on('error', () => resolve(undefined));
    });
    asking.on('timeout', () => asking.destroy());
    asking.on('error', () => resolve(undefined));
    asking.end();
  });
}

function startIn(text) {
  try {
    return String(JSON.parse(text).started ?? 'unknown');
  } catch {
    return undefined;
  }
}

const pause = (ms) => new Promise((resolve) => setTimeout(resolve, ms));
const end = performance.now() + Number(seconds) * 1000;
let started;
do {
  started = await startOfHub();
  if (started !== undefined && Number(settle) > 0) {
    await pause(Number(settle) * 1000);
    // One that answers once and falls over is not well.
    if ((await startOfHub()) !== started) started = undefined;
  }
  if (started !== undefined) break;
  await pause(250);
} while (performance.now() < end);
if (started !== undefined) process.stdout.write(`${started}\n`);
process.exitCode = started === undefined ? 1 : 0;
