import { spawn } from 'node:child_process';
import type { ServiceManager } from '../ports/service-manager.ts';

/** A child of `systemd-notify` that hangs must not be joined by more of them. */
const mostAtOnce = 4;

/**
 * Speaks to systemd through `systemd-notify`, as node opens no datagram socket of that kind. The unit needs `Type=notify`
 * and `NotifyAccess=all`, since the words come from a child. Outside of systemd (no NOTIFY_SOCKET) nothing is done.
 *
 * Is: one attempt for each call, without waiting. Is not: a promise that it was heard; a lost sign of life is followed by the
 * next, three within the manager's patience.
 *
 * @param env  NOTIFY_SOCKET, and WATCHDOG_USEC with WATCHDOG_PID as the manager sets them
 * @param failed  told the first time that the words could not be sent
 * @source sd_notify(3), sd_watchdog_enabled(3)
 */
export function createServiceManager(
  env: Record<string, string | undefined>,
  pid: number,
  failed: (why: string) => void = () => {},
): ServiceManager {
  const socket = env['NOTIFY_SOCKET'];
  if (socket === undefined || socket === '') return { watchdogMs: undefined, ready() {}, alive() {}, stopping() {} };
  let running = 0;
  let hasFailed = false;

  function fail(why: string): void {
    if (hasFailed) return;
    hasFailed = true;
    failed(why);
  }

  function tell(word: string): void {
    if (running >= mostAtOnce) {
      fail('systemd-notify does not come to an end');
      return;
    }
    running += 1;
    // Without --no-block it may wait for seconds until the manager has taken note.
    const child = spawn('systemd-notify', ['--no-block', word], {
      stdio: 'ignore',
      env: { PATH: env['PATH'], NOTIFY_SOCKET: socket },
    });
    child.once('error', (error) => {
      running -= 1;
      fail(error.message);
    });
    child.once('exit', (code) => {
      running -= 1;
      if (code !== 0) fail(`systemd-notify ended with ${code}`);
    });
    child.unref();
  }

  return {
    watchdogMs: watchdogMs(env, pid),
    ready: () => tell('READY=1'),
    alive: () => tell('WATCHDOG=1'),
    stopping: () => tell('STOPPING=1'),
  };
}

/** Meant for this very process only: a child inherits the variables too. */
function watchdogMs(env: Record<string, string | undefined>, pid: number): number | undefined {
  const forPid = env['WATCHDOG_PID'];
  if (forPid !== undefined && Number(forPid) !== pid) return undefined;
  const micros = Number(env['WATCHDOG_USEC']);
  return Number.isFinite(micros) && micros > 0 ? micros / 1000 : undefined;
}
