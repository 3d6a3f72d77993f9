import type { Config } from '../config/schema.ts';
import { VerbFailed } from './exit-code.ts';

/**
 * For a verb that writes to the store: one process has it open for writing.
 *
 * @throws VerbFailed  when the hub of this configuration answers
 */
export async function refuseWhileHubRuns(config: Config, why: string): Promise<void> {
  const host = ['0.0.0.0', '::'].includes(config.http.host) ? '127.0.0.1' : config.http.host;
  const isRunning = await fetch(`http://${host}:${config.http.port}/health`).then(
    () => true,
    () => false,
  );
  if (isRunning) throw new VerbFailed(1, `the hub is running: stop it first, ${why}`);
}
