import type { Config } from '../model/config/schema.ts';
import { VerbFailed } from './exit-code.ts';
import { isHubThere } from './hub-connection.ts';

/**
 * For a verb that writes to the store: one process has it open for writing.
 *
 * @throws VerbFailed  when the hub of this configuration answers
 */
export async function refuseWhileHubRuns(config: Config, why: string): Promise<void> {
  const isRunning = await isHubThere(config.http);
  if (isRunning) throw new VerbFailed(1, `the hub is running: stop it first, ${why}`);
}
