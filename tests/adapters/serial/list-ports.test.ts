import { mkdirSync, mkdtempSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, expect, test } from 'vitest';
import { listPorts } from '#adapters/serial/list-ports.ts';

const folders: string[] = [];
afterEach(() => {
  for (const folder of folders.splice(0)) rmSync(folder, { recursive: true, force: true });
});

test('without udev the ports are found in the device folder, each by its stable path where it has one', async () => {
  const dev = mkdtempSync(join(tmpdir(), 'brinekeep-dev-'));
  folders.push(dev);
  for (const name of ['ttyUSB0', 'ttyUSB1', 'ttyACM0', 'ttyAMA0', 'ttyS0', 'tty0', 'ttyprintk', 'sda']) {
    writeFileSync(join(dev, name), '');
  }
  mkdirSync(join(dev, 'serial', 'by-id'), { recursive: true });
  const stable = join(dev, 'serial', 'by-id', 'usb-probe_0001-if00');
  symlinkSync('../../ttyUSB1', stable);
  symlinkSync('../../ttyUSB9', join(dev, 'serial', 'by-id', 'usb-gone'));
  const found = (await listPorts(dev)).filter(({ device }) => device.startsWith(dev));
  expect(found.map(({ device, path }) => [device.slice(dev.length + 1), path])).toEqual([
    ['ttyACM0', join(dev, 'ttyACM0')],
    ['ttyAMA0', join(dev, 'ttyAMA0')],
    ['ttyS0', join(dev, 'ttyS0')],
    ['ttyUSB0', join(dev, 'ttyUSB0')],
    ['ttyUSB1', stable],
  ]);
});

test('a machine without any device folder has no ports, and that is no error', async () => {
  const found = await listPorts('/nowhere');
  expect(found.filter(({ device }) => device.startsWith('/nowhere'))).toEqual([]);
});
