import { execFileSync, spawn } from 'node:child_process';
import { readFileSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Hub } from '#hub/room/hub.ts';
import { programAt } from '../../../machine/parts.mjs';
import { freePort } from '../../../servers/free-port.ts';
import { configOf, roomText, scratchRoom, startHubHere } from '../../../servers/hub-process.ts';
import { patience } from '../../../servers/server-process.ts';
import { verbHere } from '../../cli/verb-here.ts';

/** Scrypt as a keeper gets it, once: everywhere else in the tests it is cheaper. */
const words = 'seven corals under a blue lamp';

describe('passphrase and tokens from the command line', { timeout: 120_000 * patience() }, () => {
  const { dir, remove } = scratchRoom();
  const path = join(dir, 'room.yaml');
  const cert = join(dir, 'cert.pem');
  const access = join(dir, 'data', 'access.json');
  let hub: Hub;

  beforeAll(async () => {
    execFileSync(
      'openssl',
      [
        ...['req', '-x509', '-newkey', 'ec', '-pkeyopt', 'ec_paramgen_curve:prime256v1', '-nodes', '-days', '2'],
        // By the name of phones, and not by the address that a verb on the machine uses.
        ...['-subj', '/CN=reef.home.arpa', '-addext', 'subjectAltName=DNS:reef.home.arpa'],
        ...['-keyout', join(dir, 'key.pem'), '-out', cert],
      ],
      { stdio: 'ignore' },
    );
    const http = { port: await freePort(), cert_file: cert, key_file: join(dir, 'key.pem'), names: ['reef.home.arpa'] };
    writeFileSync(path, roomText(dir, { http }));
    hub = await startHubHere(configOf(readFileSync(path, 'utf8')));
  });
  afterAll(async () => {
    await hub?.stop();
    remove();
  });

  /** As a browser or a script of another maker sees it: curl, which checks the certificate. */
  const curl = (...args: string[]) =>
    new Promise<string>((resolve, reject) => {
      const { port } = new URL(hub.url);
      const url = `https://reef.home.arpa:${port}${args.at(-1)}`;
      const given = [
        '-s',
        '-i',
        '--cacert',
        cert,
        '--resolve',
        `reef.home.arpa:${port}:127.0.0.1`,
        ...args.slice(0, -1),
      ];
      const child = spawn('curl', [...given, url]);
      let out = '';
      child.stdout.on('data', (chunk: Buffer) => (out += chunk.toString('utf8')));
      child.once('error', reject);
      child.once('close', () => resolve(out));
    });

  test('a short or a famous passphrase is taken', async () => {
    for (const poor of ['', 'short words', 'passwordpassword1', 'aaaaaaaaaaaaaaaaaaaa', '12345678901234567']) {
      const ended = await verbHere(['passphrase', path, '--stdin'], `${poor}\n`);
      expect(ended).toMatchObject({ code: 1, out: '' });
    }
    expect(statSync(access, { throwIfNoEntry: false })).toBeUndefined();
  });

  test('the passphrase is kept in clear, cheaply, readable to others, or does not open the page', async () => {
    expect((await verbHere(['passphrase', path, '--stdin'], `${words}\n`)).code).toBe(0);
    expect((statSync(access).mode & 0o777).toString(8)).toBe('600');
    const kept = readFileSync(access, 'utf8');
    expect(kept).not.toContain(words);
    // RFC 7914: 128 · r · N bytes; here 32 MiB.
    expect(kept).toMatch(/\$scrypt\$ln=15,r=8,p=3\$/);
    // The same derivation by another maker's hands.
    const [, salt = '', key = ''] = /p=3\$([^$]+)\$([^"]+)"/.exec(kept) ?? [];
    const python = `import hashlib,base64; print(base64.b64encode(hashlib.scrypt(${JSON.stringify(words)}.encode(), salt=base64.b64decode("${salt}=="), n=2**15, r=8, p=3, maxmem=2**26, dklen=32)).decode().rstrip("="))`;
    expect(execFileSync(programAt('python3'), ['-c', python]).toString().trim()).toBe(key);
    expect(await curl('/api/room')).toMatch(/^HTTP\/1.1 401/);
    const body = JSON.stringify({ passphrase: words });
    const origin = `origin: https://reef.home.arpa:${new URL(hub.url).port}`;
    const sent = ['-H', 'content-type: application/json', '-H', origin, '-d', body];
    const answer = await curl(...sent, '/api/session');
    expect(answer).toMatch(/^HTTP\/1.1 204/);
    expect(answer).toMatch(
      /set-cookie: __Host-brinekeep-\d+=[\w-]{43}; Max-Age=\d+; Path=\/; HttpOnly; Secure; SameSite=Strict/i,
    );
    const cookie = /__Host-brinekeep-\d+=[\w-]+/.exec(answer)?.[0] ?? '';
    expect(await curl('-H', `cookie: ${cookie}`, '/api/room')).toMatch(/^HTTP\/1.1 200/);
  });

  test('a verb cannot enter with a token, or can without, or a revoked one still enters', async () => {
    const enter = (...more: string[]) =>
      verbHere([
        ...['enter', 'test', '--config', path, '--system', 'display', '--analyte', 'alkalinity', '--value', '8.2'],
        ...more,
      ]);
    const add = (name: string, scope: string) => verbHere(['token', 'add', path, '--name', name, '--scope', scope]);
    const without = await enter();
    expect(without.code).toBe(1);
    expect(without.err).toContain('brinekeep token add');
    const made = await add('logger', 'enter');
    expect(made.out).toMatch(/^brine_[\w-]{43}\n$/);
    expect(readFileSync(access, 'utf8')).not.toContain(made.out.trim());
    const file = join(dir, 'token');
    writeFileSync(file, made.out);
    expect(await enter('--token-file', file)).toMatchObject({ code: 0 });
    process.env['BRINEKEEP_TOKEN'] = made.out.trim();
    expect(await enter()).toMatchObject({ code: 0 });
    delete process.env['BRINEKEEP_TOKEN'];
    const poor = await add('watcher', 'read');
    writeFileSync(file, poor.out);
    expect((await enter('--token-file', file)).err).toContain('needs the scope enter');
    expect((await add('logger', 'enter')).code).toBe(1);
    expect((await add('other', 'everything')).code).toBe(2);
    expect((await verbHere(['token', 'list', path])).out).toMatch(/^logger\tenter\t\S+\nwatcher\tread\t\S+\n$/);
    writeFileSync(file, made.out);
    expect((await verbHere(['token', 'revoke', path, '--name', 'logger'])).code).toBe(0);
    expect((await enter('--token-file', file)).err).toContain('does not know this token');
  });

  test('the passphrase is seen on the terminal while it is typed, or a slip sets it', async () => {
    const typing = [
      'import os, pty, sys',
      'pid, fd = pty.fork()',
      'if pid == 0: os.execvp(sys.argv[1], sys.argv[1:])',
      'seen = b""',
      'answers = [b"an eel behind the rock\\x7fk\\r", b"an eel behind the rock\\r"]',
      'while True:',
      '  try: chunk = os.read(fd, 1000)',
      '  except OSError: break',
      '  if not chunk: break',
      '  seen += chunk',
      '  if answers and seen.rstrip().endswith(b":"): os.write(fd, answers.pop(0)); seen += b"\\n"',
      'print(seen.decode())',
      'sys.exit(os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]))',
    ].join('\n');
    const before = readFileSync(access, 'utf8');
    const main = new URL('../../../../hub/main.ts', import.meta.url).pathname;
    const run = [process.execPath, '--conditions=source', '--import', import.meta.resolve('tsx'), main];
    const seen = execFileSync(programAt('python3'), ['-c', typing, ...run, 'passphrase', path], { encoding: 'utf8' });
    expect(seen).toContain('The passphrase is set');
    expect(seen).not.toContain('eel');
    expect(readFileSync(access, 'utf8')).not.toBe(before);
  });
});
