/**
 * Ends parts one after the other, each within its time (ms): what hangs is left, so that the state of the rules is stored before
 * the service manager kills the process (30 s after it asked).
 */
export async function endWithin(
  log: { warn(about: object, line: string): void },
  parts: readonly (readonly [part: string, withinMs: number, end: () => Promise<unknown>])[],
): Promise<void> {
  for (const [part, withinMs, end] of parts) {
    let timer: NodeJS.Timeout | undefined;
    const late = new Promise<true>((resolve) => {
      timer = setTimeout(() => resolve(true), withinMs);
    });
    const ended = end().then(
      () => false,
      (error: unknown) => log.warn({ err: error, part }, 'a part did not end properly'),
    );
    if ((await Promise.race([ended, late])) === true) log.warn({ part }, 'a part did not end in time and is left');
    clearTimeout(timer);
  }
}
