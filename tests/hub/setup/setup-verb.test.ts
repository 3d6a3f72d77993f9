import { createWriteStream, existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import { parse } from 'yaml';
import { isMissing } from '../../machine/parts.mjs';
import { type Mosquitto, mosquittoPub, startMosquitto } from '../../servers/mosquitto.ts';
import { patience } from '../../servers/server-process.ts';
import { type PtyPair, startPtyPair } from '../../servers/socat.ts';
import { verbHere } from '../cli/verb-here.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

type Written = {
  serial?: { id: string; path: string; format: string; columns?: string[] }[];
  mqtt?: { url: string };
  systems: { id: string; volume_l: number; bands: Record<string, unknown> }[];
  probes?: {
    metric: string;
    serial?: { channel: string };
    mqtt?: { topic: string; channel?: string };
    unit?: string;
  }[];
};

describe.skipIf(isMissing('mosquitto') || isMissing('mosquitto_pub') || isMissing('socat'))('setup', () => {
  const dir = mkdtempSync(join(tmpdir(), 'brinekeep-setup-'));
  const at = (name: string) => join(dir, name);
  const boards: { pair: PtyPair; stop(): void }[] = [];
  let mosquitto: Mosquitto;

  /** A board that says the same line again and again, at the far end of a real pseudo-terminal. */
  async function board(line: string): Promise<string> {
    const pair = await startPtyPair();
    const wire = createWriteStream(pair.b);
    // What was on its way when the board is pulled is lost, as it is on a real one.
    wire.on('error', () => undefined);
    const timer = setInterval(() => wire.write(line), 40);
    boards.push({
      pair,
      stop() {
        clearInterval(timer);
        wire.destroy();
      },
    });
    return pair.a;
  }

  const quick = ['--seconds-per-speed', '1', '--broker-seconds', '1'];
  const written = (name: string) => parse(readFileSync(at(name), 'utf8')) as Written;

  beforeAll(async () => {
    mosquitto = await startMosquitto();
    for (const [topic, payload] of [
      ['fishroom/sump/ph', '8.12'],
      ['fishroom/sump/air', '{"sensors": {"water": {"temperature": "77.9", "battery": 3.7}}}'],
      ['fishroom/sump/rssi', '-61'],
      ['brinekeep/heartbeat', '8.1'],
    ] as const) {
      await mosquittoPub(mosquitto.port, topic, payload, { retain: true });
    }
  });

  afterAll(async () => {
    for (const { pair, stop } of boards) {
      stop();
      await pair.stop();
    }
    await mosquitto?.stop();
    rmSync(dir, { recursive: true, force: true });
  });

  test('probes that speak are not found, or what is written is not accepted', async () => {
    const named = await board('t=25.41 ph=8.21 ec=53.12 pump=on\r\n');
    const columns = await board('25.31;8.07;ok\r');
    const noise = await board('boot ok, v2\n');
    writeFileSync(
      at('answers.yaml'),
      JSON.stringify({
        volume_l: 420,
        system_name: 'Big "reef": #1',
        broker_url: `mqtt://127.0.0.1:${mosquitto.port}`,
      }),
    );
    const { code, out, err } = await verbHere([
      ...[
        'setup',
        at('room.yaml'),
        '--answers',
        at('answers.yaml'),
        '--unattended',
        '--probes',
        'all',
        '--data-dir',
        dir,
      ],
      ...['--topics', 'fishroom/sump'],
      // The broker's answers may be late on a busy machine.
      ...['--port', named, columns, noise, ...quick, '--broker-seconds', '3'],
    ]);
    expect(`${err}${out}`).toContain('written, with 7 probes');
    expect(code).toBe(0);
    // A person sees each by name with its value.
    expect(out).toContain('Temperature 25.41 °C on port probes-1 as "t"');
    expect(out).toContain(`${noise}: data received, but not readable at any common speed`);
    const room = written('room.yaml');
    expect(room.serial?.map(({ format }) => format)).toEqual(['key_value', 'csv']);
    expect(room.serial?.[1]?.columns).toEqual(['temperature', 'ph', '-']);
    expect(room.systems[0]).toMatchObject({ id: 'big-reef-1', volume_l: 420 });
    const overMqtt = room.probes?.filter((probe) => probe.mqtt !== undefined);
    expect(overMqtt?.map(({ metric, unit, mqtt }) => [metric, unit, mqtt?.topic, mqtt?.channel]).sort()).toEqual([
      ['ph', undefined, 'fishroom/sump/ph', undefined],
      ['temperature', '°F', 'fishroom/sump/air', 'sensors.water.temperature'],
    ]);
    expect(await verbHere(['check', at('room.yaml')])).toMatchObject({ code: 0 });
    // The last two lines are what to type next.
    expect(out.trimEnd().split('\n').slice(-2)).toEqual([
      `  brinekeep check ${at('room.yaml')}`,
      `  brinekeep run ${at('room.yaml')}`,
    ]);
  });

  test("the probes of another tank at somebody else's broker are taken unasked", async () => {
    const none = [
      '--port',
      '/dev/null',
      '--broker-url',
      `mqtt://127.0.0.1:${mosquitto.port}`,
      '--seconds-per-speed',
      '1',
    ];
    const setup = (name: string, ...more: string[]) =>
      verbHere(['setup', at(name), '--unattended', '--volume', '100', '--broker-seconds', '3', ...none, ...more]);
    const unasked = await setup('unasked.yaml', '--probes', 'all');
    expect(unasked.out).toContain('left out: fishroom/sump with');
    expect(unasked.out).toContain('If it belongs to this tank: --topics fishroom/sump');
    expect(written('unasked.yaml').probes).toBeUndefined();
    // A place whose name only begins alike is another tank.
    await setup('alike.yaml', '--topics', 'fishroom/su');
    expect(written('alike.yaml').probes).toBeUndefined();
    const answers = ['Room', 'Europe/Lisbon', 'Reef', '420', 'soft', `mqtt://127.0.0.1:${mosquitto.port}`, '', ''];
    const asked = await verbHere(
      ['setup', at('no.yaml'), ...none.slice(0, 2), ...quick, '--broker-seconds', '3'],
      answers.join('\n'),
    );
    expect(asked.out).toContain('Does fishroom/sump belong to Reef? It sends');
    expect(written('no.yaml').probes).toBeUndefined();
  });

  test('a guess by value alone becomes a probe that nobody chose', async () => {
    const columns = await board('25.31,8.07\n');
    const { code } = await verbHere([
      ...[
        'setup',
        at('guessed.yaml'),
        '--unattended',
        '--volume',
        '100',
        '--port',
        columns,
        '--broker-url',
        '-',
        ...quick,
      ],
    ]);
    expect(code).toBe(0);
    expect(written('guessed.yaml').probes).toBeUndefined();
    // The tank that the commands of the documents name.
    expect(written('guessed.yaml').systems[0]?.id).toBe('display');
    expect(await verbHere(['check', at('guessed.yaml')])).toMatchObject({ code: 0 });
  });

  test('a person who answers is not heard, or a wrong answer is taken', async () => {
    const named = await board('t=25.41 ph=8.21\n');
    const answers = ['', 'Europe/Lisboa', 'Europe/Lisbon', 'Reef', 'lots', '420', 'soft', '-', 'no', 'yes', ''].join(
      '\n',
    );
    const { code, out } = await verbHere(['setup', at('asked.yaml'), '--port', named, ...quick], answers);
    expect(code).toBe(0);
    expect(out).toContain('found "Europe/Lisboa", need an IANA zone');
    expect(out).toContain('found "lots", need 1 litre or more');
    const room = written('asked.yaml');
    expect(room.systems[0]).toMatchObject({ id: 'reef', volume_l: 420 });
    expect(room.systems[0]?.bands).not.toHaveProperty('magnesium');
    expect(room.probes?.map(({ metric }) => metric)).toEqual(['ph']);
    // What was not found is there as an example.
    expect(readFileSync(at('asked.yaml'), 'utf8')).toContain(
      '  # - {id: reef-sump-ph, system: reef, metric: ph, mqtt:',
    );
  });

  test('a probe that is bought later means a file from the beginning, or takes the remarks of the keeper', async () => {
    const first = await board('t=25.41\n');
    const setup = (...more: string[]) => verbHere(['setup', at('grown.yaml'), '--unattended', ...quick, ...more]);
    const begun = await setup('--volume', '420', '--port', first, '--broker-url', '-', '--data-dir', dir);
    expect({ code: begun.code, err: begun.err }).toEqual({ code: 0, err: '' });
    const before = `# Mine: the heater is on the left.\n${readFileSync(at('grown.yaml'), 'utf8')}`;
    writeFileSync(at('grown.yaml'), before);
    const second = await board('t=26.02 ph=8.21\n');
    const added = await setup('--add', '--port', first, second);
    expect({ code: added.code, err: added.err }).toEqual({ code: 0, err: '' });
    expect(added.out).toContain('2 probes added');
    const after = readFileSync(at('grown.yaml'), 'utf8');
    const remarks = (text: string) => text.match(/#.*$/gm) ?? [];
    expect(remarks(after)).toEqual(expect.arrayContaining(remarks(before)));
    const { probes, serial } = written('grown.yaml');
    expect(probes?.map(({ metric }) => metric)).toEqual(['temperature', 'temperature', 'ph']);
    expect(new Set(serial?.map(({ id }) => id)).size).toBe(2);
    expect(await verbHere(['check', at('grown.yaml')])).toMatchObject({ code: 0 });
    expect(readFileSync(at('before-setup.yaml'), 'utf8')).toBe(before);
    // Once more there is nothing to add.
    const again = await setup('--add', '--port', first, second);
    expect(again.out).toContain('no probe was added');
    expect(readFileSync(at('grown.yaml'), 'utf8')).toBe(after);
  });

  test('an existing configuration is overwritten, or a missing answer is made up', async () => {
    writeFileSync(at('mine.yaml'), 'mine');
    expect((await verbHere(['setup', at('mine.yaml'), '--unattended', '--volume', '9'])).code).toBe(1);
    expect(readFileSync(at('mine.yaml'), 'utf8')).toBe('mine');
    const none = await verbHere(['setup', at('none.yaml'), '--unattended']);
    expect(none).toMatchObject({ code: 2 });
    expect(none.err).toContain('litres');
    expect((await verbHere(['setup', at('none.yaml'), '--unattended', '--volume', '-3'])).code).toBe(2);
    expect(existsSync(at('none.yaml'))).toBe(false);
  });
});
