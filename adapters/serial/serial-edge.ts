import { readFileSync, statSync } from 'node:fs';
import { SerialPort } from 'serialport';
import { defined } from '#rules/plain-data/defined.ts';
import { createBackoff } from '../clock/backoff.ts';
import type { Clock, Edge, EdgeListener } from '../ports/edge.ts';
import type { ObservationSink } from '../ports/observation.ts';
import { deviceIdentity } from './device-identity.ts';
import { createLineFramer } from './line-framer.ts';
import { createLineIntake } from './line-intake.ts';
import { type SerialPortOptions, serialDefaults } from './options.ts';

/** How often an open port is compared with what its path leads to, ms. */
const lookEveryMs = 2000;

/**
 * One serial port as an edge, named `serial:<id>`; a hub has as many as it likes, and none waits for another.
 *
 * Is: a port that vanishes is opened again as soon as its path is back, with pauses from `reopenMinMs` to `reopenMaxMs`;
 * so is one that stays open without a word while its path leads elsewhere by now, or nowhere, as the system does not always
 * tell of a loss; a change between up and down is told once; a line reaches the sink whole or not at all.
 * Is not: no line that came while the port was closed, no first line after an opening, and no line past the flood bound
 * is ever seen; it is counted where its bytes came in. Nothing is ever written to the port.
 *
 * Down is a port that is closed, and one that is open and speaks nonsense: nobody can rely on either.
 */
export function createSerialEdge(
  given: SerialPortOptions,
  sink: ObservationSink,
  listener: EdgeListener,
  clock: Clock,
): Edge {
  const options = { ...serialDefaults, ...given };
  const name = `serial:${options.id}`;
  const backoff = createBackoff({ minMs: options.reopenMinMs, maxMs: options.reopenMaxMs });
  let port: SerialPort | undefined;
  let reopenTimer: NodeJS.Timeout | undefined;
  let lookTimer: NodeJS.Timeout | undefined;
  let isWanted = false;
  let isOpen = false;
  let fault: string | undefined;
  let told: boolean | undefined;
  let lastSuccessMs: number | undefined;

  const intake = createLineIntake(options, {
    source: name,
    sink,
    clock,
    events: {
      good() {
        lastSuccessMs = clock.nowMs();
        backoff.reset();
        fault = undefined;
        tell('readings come in');
      },
      trouble(detail) {
        fault = detail;
        tell(detail);
      },
    },
  });
  const framer = createLineFramer(options, intake);
  intake.counts['opened'] = 0;
  intake.counts['bytes'] = 0;

  function tell(detail: string): void {
    const isUp = isOpen && fault === undefined;
    if (isUp === told) return;
    told = isUp;
    listener({ name, isUp, detail, atMs: clock.nowMs() });
  }

  function lost(detail: string): void {
    framer.reset();
    intake.reset();
    isOpen = false;
    port = undefined;
    fault = detail;
    tell(detail);
    if (!isWanted) return;
    reopenTimer = setTimeout(() => void open(), backoff.nextMs());
  }

  /** Gives a port up whose device has gone without the system telling. */
  async function watchDevice(watched: SerialPort): Promise<void> {
    const opened = await deviceIdentity(options.path);
    clearInterval(lookTimer);
    if (port !== watched) return;
    lookTimer = setInterval(async () => {
      const now = await deviceIdentity(options.path);
      if (port !== watched || now === opened) return;
      clearInterval(lookTimer);
      lost(now === undefined ? 'unplugged (its path is gone)' : 'unplugged (its path leads to another device)');
      if (watched.isOpen) watched.close(() => {});
    }, lookEveryMs);
    lookTimer.unref();
  }

  /** Resolves when the try is over, whatever came of it. */
  function open(): Promise<void> {
    return new Promise((resolve) => {
      let opening: SerialPort;
      try {
        opening = new SerialPort({
          path: options.path,
          baudRate: options.baud,
          dataBits: options.dataBits,
          parity: options.parity,
          stopBits: options.stopBits,
          autoOpen: false,
        });
      } catch (error) {
        lost(describe(error));
        resolve();
        return;
      }
      port = opening;
      // All listeners stand before the port opens: an `error` that nobody hears would end the process.
      opening.on('data', (chunk: Buffer) => {
        intake.counts['bytes'] = (intake.counts['bytes'] ?? 0) + chunk.length;
        framer.push(chunk, clock.monotonicMs());
      });
      opening.on('error', (error) => {
        if (port !== opening) return;
        fault = describe(error);
        tell(fault);
      });
      opening.on('close', (error?: Error | null) => {
        if (port === opening) lost(error ? `unplugged (${describe(error)})` : 'closed');
      });
      opening.open((error) => {
        if (port !== opening) {
          // Stopped while it was being opened.
          if (!error) opening.close();
        } else if (error) lost(whyShut(error, options.path));
        else {
          isOpen = true;
          fault = undefined;
          intake.counts['opened'] = (intake.counts['opened'] ?? 0) + 1;
          tell(`${options.path} is open at ${options.baud} baud`);
          void watchDevice(opening);
        }
        resolve();
      });
    });
  }

  return {
    async start() {
      if (isWanted) return;
      isWanted = true;
      await open();
    },
    async stop() {
      isWanted = false;
      clearTimeout(reopenTimer);
      clearInterval(lookTimer);
      const closing = port;
      port = undefined;
      framer.reset();
      intake.reset();
      isOpen = false;
      fault = 'stopped';
      told = undefined;
      if (closing?.isOpen) await new Promise<void>((resolve) => closing.close(() => resolve()));
    },
    state: () => ({
      name,
      isUp: isOpen && fault === undefined,
      ...defined({ lastSuccessMs }),
      ...(isOpen && fault === undefined ? {} : { lastError: fault ?? 'not started' }),
      counts: { ...intake.counts },
    }),
  };
}

function describe(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}

/** What a port that is there and may not be opened needs, in the keeper's words. */
function whyShut(error: unknown, path: string): string {
  const text = describe(error);
  if (!/permission denied|EACCES/i.test(text)) return text;
  return `permission denied: the hub's user is not in the group "${groupOf(path)}" that may use ${path}. As root: usermod -aG ${groupOf(path)} USER, then restart the hub`;
}

/** By its name where the system tells it; Debian gives serial ports to dialout. */
function groupOf(path: string): string {
  try {
    const { gid } = statSync(path);
    const line = readFileSync('/etc/group', 'utf8')
      .split('\n')
      .find((each) => each.split(':')[2] === String(gid));
    return line?.split(':')[0] || 'dialout';
  } catch {
    return 'dialout';
  }
}
