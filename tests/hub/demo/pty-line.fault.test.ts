import { ChildProcess, execFileSync } from 'node:child_process';
import {
  closeSync,
  constants,
  existsSync,
  lstatSync,
  mkdirSync,
  mkdtempSync,
  openSync,
  readSync,
  rmSync,
  symlinkSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { SerialPort } from 'serialport';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { openPtyLine, type PtyLine } from '../../../hub/demo/pty-line.ts';
import { waitUntil } from '../../servers/server-process.ts';

let dir: string;
let line: PtyLine | undefined;

beforeEach(() => {
  dir = mkdtempSync(join(tmpdir(), 'brinekeep-line-'));
});

afterEach(async () => {
  await line?.stop();
  line = undefined;
  rmSync(dir, { recursive: true, force: true });
});

async function opened(tool: PtyLine['by']): Promise<PtyLine> {
  line = await openPtyLine(dir, [tool]);
  if (line === undefined) throw new Error(`${tool} made no pseudo-terminal`);
  return line;
}

/** What the hub's own serial library reads until the check holds; writes go on as a board's do. */
async function readBySerialPort(path: string, write: () => void, isEnough: (text: string) => boolean): Promise<string> {
  let text = '';
  const port = new SerialPort({ path, baudRate: 9600, autoOpen: false });
  port.on('data', (bytes: Buffer) => {
    text += bytes.toString('latin1');
  });
  await new Promise<void>((resolve, reject) => port.open((error) => (error ? reject(error) : resolve())));
  try {
    await waitUntil('the lines arrive', () => {
      write();
      return isEnough(text);
    });
  } finally {
    await new Promise<void>((resolve) => port.close(() => resolve()));
  }
  return text;
}

describe.each(['socat', 'python3'] as const)('a serial line held by %s', (tool) => {
  it('carries the lines of the board to a reader of a real terminal device', async () => {
    const { path, write, by } = await opened(tool);
    expect(by).toBe(tool);
    expect(lstatSync(path).isSymbolicLink()).toBe(true);
    let count = 0;
    const text = await readBySerialPort(
      path,
      () => {
        count += 1;
        write(Buffer.from(`t=25.${String(count % 100).padStart(2, '0')} ph=8.21 ec=53.12\n`));
      },
      (soFar) => soFar.split('\n').length > 12,
    );
    const whole = text.split('\n').slice(1, -1);
    expect(whole.length).toBeGreaterThan(9);
    for (const each of whole) expect(each).toMatch(/^t=25\.\d\d ph=8\.21 ec=53\.12$/);
  });

  it('passes electrical noise on byte by byte, control characters included', async () => {
    const { path, write } = await opened(tool);
    const noise = Buffer.from([0x00, 0x03, 0x04, 0x11, 0x13, 0x1a, 0x1c, 0x7f, 0x80, 0xff, 0x0d, 0x0a]);
    const text = await readBySerialPort(
      path,
      () => write(noise),
      (soFar) => soFar.length >= 3 * noise.length,
    );
    expect(text).toContain(noise.toString('latin1'));
  });

  it('lives on when the hub closes the port and opens it again', async () => {
    const { path, write } = await opened(tool);
    const send = () => write(Buffer.from('t=25.41 ph=8.21 ec=53.12\n'));
    for (let opening = 0; opening < 3; opening += 1) {
      const text = await readBySerialPort(path, send, (soFar) => soFar.split('\n').length > 4);
      expect(text).toContain('t=25.41 ph=8.21 ec=53.12\n');
    }
  });

  it('drops lines that nobody reads, rather than filling the memory', async () => {
    const unread = await opened(tool);
    const kilobyte = Buffer.from(`${'t=25.41 '.repeat(127)}ec=53.1\n`);
    await waitUntil('lines are dropped', () => {
      for (let count = 0; count < 50; count += 1) unread.write(kilobyte);
      return unread.dropped() > 1000;
    });
  });

  it('leaves no child and no device behind, even when nobody ever read', async () => {
    const stopped = await opened(tool);
    await waitUntil('the terminal is full', () => {
      stopped.write(Buffer.alloc(1024, 'x'));
      return stopped.dropped() > 10;
    });
    const device = execFileSync('readlink', ['-f', stopped.path], { encoding: 'utf8' }).trim();
    expect(existsSync(device)).toBe(true);
    await stopped.stop();
    line = undefined;
    expect(existsSync(stopped.path)).toBe(false);
    expect(() => lstatSync(stopped.path)).toThrow();
    // The number of a terminal may be given out again at once, so the arguments tell who still holds this one.
    const commands = execFileSync('ps', ['-eo', 'args'], { encoding: 'utf8' });
    expect(commands.split('\n').filter((command) => command.includes(stopped.path))).toEqual([]);
  });
});

describe('a machine without a tool for pseudo-terminals', () => {
  it('is told so at once, and the demonstration goes on over MQTT', async () => {
    const path = process.env['PATH'];
    process.env['PATH'] = dir;
    try {
      expect(await openPtyLine(dir)).toBeUndefined();
    } finally {
      process.env['PATH'] = path;
    }
  });

  it('signals no stranger where no tool is there: a child that was never started has no pid of its own', async () => {
    const path = process.env['PATH'];
    process.env['PATH'] = join(dir, 'nothing-here');
    const kills = vi.spyOn(ChildProcess.prototype, 'kill');
    try {
      expect(await openPtyLine(dir)).toBeUndefined();
      expect(kills).not.toHaveBeenCalled();
    } finally {
      kills.mockRestore();
      process.env['PATH'] = path;
    }
  });

  it('uses the next tool where the first one is missing', async () => {
    const bin = join(dir, 'bin');
    mkdirSync(bin);
    const python = execFileSync('python3', ['-c', 'import sys; print(sys.executable)'], { encoding: 'utf8' }).trim();
    symlinkSync(python, join(bin, 'python3'));
    const path = process.env['PATH'];
    process.env['PATH'] = bin;
    try {
      line = await openPtyLine(dir);
    } finally {
      process.env['PATH'] = path;
    }
    expect(line?.by).toBe('python3');
    const reader = openSync(line?.path ?? '', constants.O_RDONLY | constants.O_NOCTTY | constants.O_NONBLOCK);
    try {
      line?.write(Buffer.from('ph=8.21\n'));
      const bytes = Buffer.alloc(64);
      let got = 0;
      await waitUntil('the line arrives', () => {
        try {
          got += readSync(reader, bytes, got, 64 - got, null);
        } catch (error) {
          if (!(error instanceof Error) || !error.message.includes('EAGAIN')) throw error;
        }
        return got === 8;
      });
      expect(bytes.subarray(0, got).toString()).toBe('ph=8.21\n');
    } finally {
      closeSync(reader);
    }
  });
});
