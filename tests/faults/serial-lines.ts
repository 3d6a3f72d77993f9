import { closeSync, constants, openSync, writeSync } from 'node:fs';
import { atPace } from './people.ts';
import type { Scene } from './scene.ts';

/** A board on a serial cable that says a temperature with its time, in SenML (RFC 8428), whoever listens. */
export function startSerialProbe(
  scene: Scene,
  path: string,
  perSecond: number,
): { sentMs: readonly number[]; stop(): void } {
  const sentMs: number[] = [];
  const file = openSync(path, constants.O_WRONLY | constants.O_NOCTTY | constants.O_NONBLOCK);
  // The end of a line that the cable did not take at once.
  let rest = Buffer.alloc(0);

  /** Writes what fits; while nobody reads, the cable is soon full. */
  function writeSome(bytes: Buffer): Buffer {
    try {
      return bytes.subarray(writeSync(file, bytes));
    } catch (error) {
      if ((error as NodeJS.ErrnoException).code !== 'EAGAIN') throw error;
      return bytes;
    }
  }

  const pace = atPace(scene, perSecond, (n) => {
    rest = Buffer.from(writeSome(rest));
    // A board does not wait: what it cannot say now is never said.
    if (rest.length > 0) return;
    const timeMs = Math.max(Date.now(), (sentMs.at(-1) ?? 0) + 1);
    const line = Buffer.from(`[{"n":"v","t":${timeMs / 1000},"v":${(25.2 + (n % 500) / 1000).toFixed(3)}}]\n`);
    const left = writeSome(line);
    if (left.length === line.length) return;
    sentMs.push(timeMs);
    rest = Buffer.from(left);
  });
  const stop = () => {
    pace.stop();
    closeSync(file);
  };
  let isStopped = false;
  const once = () => {
    if (!isStopped) stop();
    isStopped = true;
  };
  scene.atEnd(once);
  return { sentMs, stop: once };
}

/** Asks again and again what a probe said last. Lines come in order: what was said before that, to the same process, was read too. */
export function watchReadLines(
  scene: Scene,
  hub: () => { url: string } | undefined,
  probe: string,
): {
  stop(): Promise<void>;
  /** Whether this hub has read a line of those that it did not find in the record. */
  hasRead(hub: object): boolean;
  among(sentMs: readonly number[]): number[];
} {
  const lives = new Map<object, { foundMs: number; firstMs: number; lastMs: number }>();
  let isStopping = false;

  async function look(at: { url: string }): Promise<void> {
    const answer = await fetch(`${at.url}/api/probes`, { signal: AbortSignal.timeout(10_000) }).catch(() => undefined);
    const body = answer?.ok === true ? await answer.json().catch(() => undefined) : await answer?.arrayBuffer();
    const timeMs = (body as { id: string; time: number | null }[] | undefined)?.find?.(({ id }) => id === probe)?.time;
    if (typeof timeMs !== 'number') return;
    const life = lives.get(at);
    // What it shows first it may have found in the record.
    if (life === undefined) lives.set(at, { foundMs: timeMs, firstMs: Number.POSITIVE_INFINITY, lastMs: timeMs });
    else if (timeMs !== life.foundMs) {
      life.firstMs = Math.min(life.firstMs, timeMs);
      life.lastMs = timeMs;
    }
  }

  const running = (async () => {
    while (!isStopping) {
      const at = hub();
      if (at !== undefined) await look(at);
      await new Promise((resolve) => setTimeout(resolve, 50));
    }
  })();
  const stop = () => {
    isStopping = true;
    return running;
  };
  scene.atEnd(stop);
  return {
    stop,
    hasRead: (at) => Number.isFinite(lives.get(at)?.firstMs),
    among: (sentMs) =>
      sentMs.filter((at) => [...lives.values()].some(({ firstMs, lastMs }) => at >= firstMs && at <= lastMs)),
  };
}
