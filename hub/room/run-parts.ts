/** Something of the hub that runs. What `start` and `stop` give is awaited. */
export type Part = {
  /** For the log. */
  name: string;
  start?(): unknown;
  stop?(): unknown;
  /** A part that takes longer to stop is left, milliseconds. */
  stopWithinMs?: number;
};

type Log = { warn(about: object, line: string): void };

/**
 * Starts the parts in their order. One that cannot start ends the start: it and those before it are stopped, and what it
 * threw is thrown.
 *
 * @returns stops them, the last one first
 */
export async function startParts(log: Log, parts: readonly Part[]): Promise<() => Promise<void>> {
  const running: Part[] = [];
  const stop = async () => {
    for (const part of running.splice(0).toReversed()) await stopPart(log, part);
  };
  for (const part of parts) {
    running.push(part);
    try {
      await part.start?.();
    } catch (error) {
      await stop();
      throw error;
    }
  }
  return stop;
}

/** What hangs is left, so that the store is closed before the service manager kills the process (30 s after it asked). */
async function stopPart(log: Log, { name, stop, stopWithinMs }: Part): Promise<void> {
  let timer: NodeJS.Timeout | undefined;
  const late = new Promise<true>((resolve) => {
    if (stopWithinMs !== undefined) timer = setTimeout(() => resolve(true), stopWithinMs);
  });
  const ended = (async () => stop?.())().then(
    () => false,
    (error: unknown) => log.warn({ err: error, part: name }, 'a part did not end properly'),
  );
  if ((await Promise.race([ended, late])) === true) log.warn({ part: name }, 'a part did not end in time and is left');
  clearTimeout(timer);
}
