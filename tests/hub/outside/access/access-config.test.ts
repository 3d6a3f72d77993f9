import { describe, expect, test } from 'vitest';
import { loadConfig } from '#hub/model/config/load.ts';
import { noFiles, smallest } from '../../model/config/config-texts.ts';

function loaded(lines: string, env: Record<string, string> = {}, readFile = noFiles) {
  return loadConfig(`${smallest}${lines}\n`, 'config.yaml', env, readFile);
}

function problems(...given: Parameters<typeof loaded>): string[] {
  const result = loaded(...given);
  return result.ok ? [] : result.problems.map(({ text }) => text);
}

describe('who may come in, by the configuration', () => {
  test('the hub starts with a broker that gives everybody on the network the commands', () => {
    for (const host of ['0.0.0.0', '"::"', '192.0.2.7', 'reef.home.arpa']) {
      const [only, ...others] = problems(`broker: {host: ${host}}`);
      expect(only).toContain('broker.users with a password each');
      expect(others).toEqual([]);
    }
    for (const host of ['127.0.0.1', '127.0.1.1', '"::1"', 'localhost']) {
      expect(problems(`broker: {host: ${host}}`)).toEqual([]);
    }
    // With an outside broker the hub's own is not started.
    expect(problems('broker: {host: 0.0.0.0}\nmqtt: {url: "mqtt://192.0.2.9"}')).toEqual([]);
    const users = 'broker: {host: 0.0.0.0, users: [{name: board, role: probe, password_env: BOARD}]}';
    expect(problems(users, { BOARD: 'tide pool 17' })).toEqual([]);
  });

  test.each([
    ['a user without a password lets everybody in', '{name: board, role: probe}', 'password_file: PATH'],
    ['an unset variable is an empty password', '{name: board, role: probe, password_env: BOARD}', 'which is not set'],
    [
      'a file that is not there is an empty password',
      '{name: board, role: probe, password_file: /no}',
      'cannot be read',
    ],
    [
      'a password in place of the name of a variable is shown',
      '{name: b, role: probe, password_env: sea hare}',
      'hidden',
    ],
    ['a role that is none has all rights', '{name: board, role: admin, password_env: BOARD}', 'probe'],
    ['a password in the YAML is taken', '{name: board, role: probe, password: sea hare}', 'password'],
  ])('%s', (_what, user, told) => {
    const found = problems(`broker: {users: [${user}]}`);
    expect(found.join('\n')).toContain(told);
    expect(found.join('\n')).not.toContain('sea hare');
  });

  test('two users of one name, of whom the one with the weaker password opens', () => {
    const user = '{name: board, role: probe, password_env: BOARD}';
    const [only] = problems(`broker: {users: [${user}, ${user}]}`, { BOARD: 'tide pool 17' });
    expect(only).toContain('a name of its own for each user');
  });

  test('a certificate without its key, or one that is not there, is told when the hub cannot start', () => {
    for (const block of ['http', 'broker']) {
      const pem = () => '-----BEGIN';
      expect(problems(`${block}: {cert_file: /c.pem}`, {}, pem).join()).toContain('key_file beside it');
      expect(problems(`${block}: {cert_file: /c.pem, key_file: /k.pem}`, {}, pem)).toEqual([]);
      expect(problems(`${block}: {cert_file: /c.pem, key_file: /k.pem}`)).toHaveLength(2);
    }
  });

  test('a page on the network without TLS goes without a warning, or a name with a port in it is taken', () => {
    const wide = loaded('http: {host: 0.0.0.0}');
    expect(wide.ok && wide.warnings.join()).toContain('without TLS');
    expect(problems('http: {names: ["reef.home.arpa"]}')).toEqual([]);
    for (const name of ['http://reef', 'reef:8740', 'Reef', 'reef/', '*', '']) {
      expect(problems(`http: {names: ["${name}"]}`), name).toHaveLength(1);
    }
  });
});
