import { existsSync } from 'node:fs';

/** Made by systemd-timesyncd when it has had the time from a server since the boot; other time services do not make it. */
const synchronizedFile = '/run/systemd/timesync/synchronized';

/** Whether the operating system says that its clock was set from outside. No proves nothing. */
export function isMachineClockSet(): boolean {
  return existsSync(synchronizedFile);
}
