import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { Writable } from 'node:stream';
import pino from 'pino';
import { expect, test, vi } from 'vitest';
import { adaptersForVerbs } from '#hub/compose.ts';
import { hashOfToken } from '#hub/outside/access/access-file.ts';
import { startHub } from '#hub/room/hub.ts';
import { configOf, roomText, scratchRoom } from '../../../servers/hub-process.ts';
import { mosquittoPub } from '../../../servers/mosquitto.ts';
import { patience, waitUntil } from '../../../servers/server-process.ts';
import { ask } from '../../http/ask.ts';
import { lockRoom, passphrase } from './locked-room.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

const planted = {
  passphrase,
  influx: 'influx-token-sea-urchin',
  board: 'board-password-sea-hare',
  bearer: `brine_${'sea-pen-'.repeat(5)}xyz`,
  wrong: 'a wrong guess with sea cucumbers',
};

test('a secret stands in the log, in a refusal, or in an answer of the API', {
  timeout: 120_000 * patience(),
}, async () => {
  const scratch = scratchRoom();
  await lockRoom(scratch.dir, [{ name: 'the test', scope: 'admin', token: planted.bearer }]);
  const [influxFile, boardFile] = [join(scratch.dir, 'influx'), join(scratch.dir, 'board')];
  writeFileSync(influxFile, `${planted.influx}\n`);
  writeFileSync(boardFile, `${planted.board}\n`);
  const config = configOf(
    roomText(scratch.dir, {
      // Nothing listens there, so that its errors are in the log as well.
      influx: { url: 'http://127.0.0.1:9', org: 'reef', bucket: 'room', token_file: influxFile },
      broker: { port: 0, users: [{ name: 'board', role: 'probe', password_file: boardFile }] },
      probes: [{ id: 'ph', system: 'display', metric: 'ph', mqtt: { topic: 'room/ph' } }],
    }),
  );
  let log = '';
  const sink = new Writable({
    write(chunk: Buffer, _encoding, done) {
      log += chunk.toString('utf8');
      done();
    },
  });
  const hub = await startHub(config, adaptersForVerbs.hub, {
    pageDir: '/nowhere',
    log: pino({ level: 'trace' }, sink),
    secrets: { env: {}, readFile: (path) => readFileSync(path, 'utf8') },
    isInvented: false,
  });
  let answers = '';
  const keep = async (path: string, asked: Parameters<typeof ask>[2] = {}) => {
    const { status, text } = await ask(hub.url, path, asked);
    answers += `${path} ${status} ${text}\n`;
    return { status, text };
  };
  try {
    const authorization = `Bearer ${planted.bearer}`;
    const port = hub.brokerPort ?? 0;
    await mosquittoPub(port, 'room/ph', '8.1', { args: ['-u', 'board', '-P', planted.board] });
    await mosquittoPub(port, 'room/other', '8.1', { args: ['-u', 'board', '-P', planted.board] });
    await mosquittoPub(port, 'room/ph', '8.1', { args: ['-u', planted.board, '-P', planted.wrong] }).catch(() => {});
    for (const given of [planted.passphrase, planted.wrong]) {
      await keep('/api/session', { body: { passphrase: given } });
      await keep('/api/session', { body: { passphrase: [given] } });
      await keep('/api/session', { raw: `{"passphrase":"${given}` });
      await keep('/api/room', { headers: { authorization: `Bearer ${given.replaceAll(' ', '-')}` } });
    }
    const { paths } = JSON.parse((await keep('/openapi.json', { headers: { authorization } })).text) as {
      paths: Record<string, Record<string, unknown>>;
    };
    const asked = Object.entries(paths).filter(([path, methods]) => 'get' in methods && path !== '/api/live');
    expect(asked.length).toBeGreaterThan(10);
    for (const [path] of asked) {
      await keep(path.replaceAll(/\{system\}/g, 'display').replaceAll(/\{[^}]*\}/g, '1'), {
        headers: { authorization },
      });
    }
    await waitUntil(
      'the broker and the mirror have told their troubles',
      () => /did not allow/.test(log) && /influx/.test(log),
      {
        explain: () => log.slice(-3000),
      },
    );
  } finally {
    await hub.stop();
    scratch.remove();
  }
  expect(log).toContain('a wrong passphrase');
  expect(answers).toContain('/health 200');
  const secrets = [
    ...Object.values(planted),
    planted.wrong.replaceAll(' ', '-'),
    hashOfToken(planted.bearer),
    '$scrypt$',
  ];
  for (const secret of secrets) {
    expect(log.includes(secret), `in the log: ${secret}`).toBe(false);
    expect(answers.includes(secret), `in an answer: ${secret}`).toBe(false);
  }
});
