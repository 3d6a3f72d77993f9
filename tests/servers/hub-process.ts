import { spawn } from 'node:child_process';
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import pino from 'pino';
import type { MessageLink } from '#adapters/ports/edge.ts';
import type { HubAdapters } from '#adapters/ports/hub-adapters.ts';
import { adaptersForVerbs } from '#hub/compose.ts';
import { loadConfig } from '#hub/model/config/load.ts';
import type { Config } from '#hub/model/config/schema.ts';
import { type Hub, startHub } from '#hub/room/hub.ts';
import type { HubOptions } from '#hub/room/hub-options.ts';
import { hubCommand } from './hub-command.ts';
import { type ServerProcess, startProcess, waitUntil } from './server-process.ts';

const repository = fileURLToPath(new URL('../..', import.meta.url));

/** A scratch directory that holds a hub's store and its weekly files. */
export function scratchRoom(): { dir: string; remove(): void } {
  const dir = mkdtempSync(join(tmpdir(), 'brinekeep-hub-'));
  mkdirSync(join(dir, 'data'));
  return { dir, remove: () => rmSync(dir, { recursive: true, force: true }) };
}

/** Blocks of a configuration that take the place of those of the invented room. */
export type RoomBlocks = Record<string, unknown>;

/**
 * The text of a configuration: an invented room with one tank, on any free port, that writes to `dir`. JSON is YAML too,
 * one block a line.
 */
export function roomText(dir: string, blocks: RoomBlocks = {}): string {
  const whole: RoomBlocks = {
    site: { name: 'Fish room (invented)', timezone: 'Europe/Lisbon' },
    data_dir: join(dir, 'data'),
    flush_seconds: 0.2,
    weekly: { dir: join(dir, 'weekly') },
    http: { port: 0 },
    broker: { port: 0 },
    systems: [
      {
        id: 'display',
        name: 'Display tank',
        volume_l: 420,
        bands: { temperature: { low: 25, high: 26.5 }, alkalinity: { low: 7.5, high: 9 } },
      },
    ],
    ...blocks,
  };
  return `${Object.entries(whole)
    .map(([key, block]) => `${key}: ${JSON.stringify(block)}`)
    .join('\n')}\n`;
}

/** @throws with every mistake when the text is no configuration */
export function configOf(text: string, env: Record<string, string> = {}): Config {
  const loaded = loadConfig(text, 'room.yaml', env, (path) => readFileSync(path, 'utf8'));
  if (!loaded.ok) throw new Error(loaded.problems.map((problem) => problem.text).join('\n'));
  return loaded.config;
}

/**
 * The real hub with its real adapters in this process; `changed` puts others in place of some. Stop it with `stop()`.
 * With a broker of its own it listens there by the time that this resolves: what a probe says before that nobody would hear.
 */
export async function startHubHere(
  config: Config,
  changed: Partial<HubAdapters> = {},
  pageDir = join(repository, 'dist', 'web'),
  more: Pick<HubOptions, 'configFile'> = {},
): Promise<Hub> {
  const adapters = { ...adaptersForVerbs.hub, ...changed };
  let link: MessageLink | undefined;
  const hub = await startHub(
    config,
    {
      ...adapters,
      createLink(...given) {
        link = adapters.createLink(...given);
        return link;
      },
    },
    {
      ...{ pageDir, log: pino({ level: 'silent' }), isInvented: false, areAnswersChecked: true, ...more },
      secrets: { env: {}, readFile: (path) => readFileSync(path, 'utf8') },
    },
  );
  const hears = () => link?.state().isUp === true;
  if (hub.brokerPort !== undefined) {
    await waitUntil('the hub hears its own broker', hears).catch(async (error: unknown) => {
      await hub.stop();
      throw error;
    });
  }
  return hub;
}

export type HubProcess = ServerProcess & { url: string; configPath: string };

/** The hub as its own process, as `brinekeep run` starts it, ready when this resolves. For tests that kill it. */
export async function startHubProcess(
  dir: string,
  text: string,
  env: Record<string, string> = {},
): Promise<HubProcess> {
  const configPath = join(dir, 'room.yaml');
  writeFileSync(configPath, text);
  // One process and not npx, a shell and node: a kill must meet the hub itself.
  const run = startProcess(process.execPath, [...hubCommand(), 'run', configPath], 20_000, env);
  await waitUntil('the hub says where its page is', () => /Open (http\S+)/.test(run.log()) || !run.isRunning(), {
    explain: run.log,
    withinMs: 60_000,
  });
  const url = /Open (http\S+)/.exec(run.log())?.[1];
  if (url === undefined) throw new Error(`the hub ended at once: ${run.log()}`);
  return { ...run, url, configPath };
}

export type Ended = { code: number | null; stdout: string; stderr: string };

/** `brinekeep ARGS` as its own process, run to its end. */
export function runVerb(args: readonly string[], input = ''): Promise<Ended> {
  return new Promise((resolve, reject) => {
    const child = spawn(process.execPath, [...hubCommand(), ...args]);
    let stdout = '';
    let stderr = '';
    child.stdout.on('data', (chunk: Buffer) => (stdout += chunk.toString('utf8')));
    child.stderr.on('data', (chunk: Buffer) => (stderr += chunk.toString('utf8')));
    child.once('error', reject);
    child.once('close', (code) => resolve({ code, stdout, stderr }));
    child.stdin.end(input);
  });
}

/** GET of a JSON answer. */
export async function getJson<Answer>(url: string): Promise<Answer> {
  const response = await fetch(url);
  if (!response.ok) throw new Error(`GET ${url}: ${response.status} ${await response.text()}`);
  return (await response.json()) as Answer;
}

/** POST of a JSON body, whatever the answer. */
export function postJson(url: string, body: unknown): Promise<Response> {
  return fetch(url, {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify(body),
  });
}
