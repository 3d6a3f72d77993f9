import { stat } from 'node:fs/promises';

/**
 * Which device a path leads to at this moment; undefined when it leads nowhere. A lasting name such as those below
 * /dev/serial/by-id leads to another one after the adapter was plugged in again.
 */
export async function deviceIdentity(path: string): Promise<string | undefined> {
  try {
    const { rdev, dev, ino } = await stat(path);
    return `${rdev}:${dev}:${ino}`;
  } catch {
    return undefined;
  }
}
