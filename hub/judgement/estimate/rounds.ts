/**
 * Visits each of many systems once in `everyMs`, spread evenly over it, the first time as soon as may be. No turn of the
 * event loop visits more than one, so that readings, the page and the watchdog come between.
 *
 * @param systems  at least one
 * @param visit  must not throw
 * @returns ends the rounds
 */
export function startRounds(systems: readonly string[], everyMs: number, visit: (system: string) => void): () => void {
  let isStopped = false;
  const firstRound = (index: number): void => {
    const system = systems[index];
    if (isStopped || system === undefined) return;
    visit(system);
    setImmediate(() => firstRound(index + 1));
  };
  setImmediate(() => firstRound(0));
  let next = 0;
  const timer = setInterval(() => {
    visit(systems[next % systems.length]!);
    next += 1;
  }, everyMs / systems.length);
  return () => {
    isStopped = true;
    clearInterval(timer);
  };
}
