import { readdir, realpath } from 'node:fs/promises';
import { join } from 'node:path';
import { SerialPort } from 'serialport';

export type FoundPort = {
  /** What to write into the configuration: the stable path where there is one. */
  path: string;
  /** The device behind it now, such as /dev/ttyUSB0; may be another one after a restart. */
  device: string;
  maker?: string;
  serialNumber?: string;
};

/**
 * The serial ports of this machine, by device name. What udev knows of them is added where udevadm is there to ask; without
 * it (a small container, say) the device folder alone is read.
 */
export async function listPorts(devFolder = '/dev'): Promise<FoundPort[]> {
  const stablePaths = await readStablePaths(join(devFolder, 'serial', 'by-id'));
  const known = await askUdev();
  const devices = new Set([...known.keys(), ...stablePaths.keys(), ...(await scanDevices(devFolder))]);
  return [...devices].sort().map((device) => ({
    path: stablePaths.get(device) ?? device,
    device,
    ...known.get(device),
  }));
}

async function askUdev(): Promise<Map<string, Pick<FoundPort, 'maker' | 'serialNumber'>>> {
  // `list` rejects where udevadm is missing.
  const ports = await SerialPort.list().catch(() => []);
  return new Map(
    ports.map(({ path, manufacturer, serialNumber }) => [
      path,
      { ...(manufacturer ? { maker: manufacturer } : {}), ...(serialNumber ? { serialNumber } : {}) },
    ]),
  );
}

/** From the device to the link that names it by maker and serial number. */
async function readStablePaths(folder: string): Promise<Map<string, string>> {
  const stablePaths = new Map<string, string>();
  for (const name of (await readdir(folder).catch(() => [])).sort()) {
    const link = join(folder, name);
    // A link whose device is gone leads nowhere.
    const device = await realpath(link).catch(() => undefined);
    if (device !== undefined) stablePaths.set(device, link);
  }
  return stablePaths;
}

async function scanDevices(devFolder: string): Promise<string[]> {
  const names = await readdir(devFolder).catch(() => []);
  return names.filter((name) => /^tty(USB|ACM|AMA|S)\d+$/.test(name)).map((name) => join(devFolder, name));
}
