import type { Config } from '../model/config/schema.ts';
import { Refused } from '../model/refusals/refused.ts';
import { isHubThere } from './hub-connection.ts';

/**
 * For a verb that writes to the store: one process has it open for writing.
 *
 * @throws Refused  when the hub of this configuration answers
 */
export async function refuseWhileHubRuns(config: Config, why: string): Promise<void> {
  const isRunning = await isHubThere(config.http);
  if (isRunning) throw new Refused('not_done', `the hub is running: stop it first, ${why}`);
}
