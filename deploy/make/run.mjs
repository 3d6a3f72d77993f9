// Runs a program and gives what it printed; what it complains of is shown only when it fails.
import { spawnSync } from 'node:child_process';

/** @throws with its last words when it does not end well */
export function run(command, args, options = {}) {
  const ran = spawnSync(command, args, { encoding: 'utf8', maxBuffer: 256 * 1024 * 1024, ...options });
  if (ran.error !== undefined) throw ran.error;
  if (ran.status !== 0) throw new Error(`${command} ${args.join(' ')}\n${`${ran.stdout}${ran.stderr}`.slice(-4000)}`);
  return ran.stdout;
}
