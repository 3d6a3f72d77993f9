import { expect, test } from 'vitest';
import { createBoundedLog } from '#hub/outside/observability/bounded-log.ts';

type Line = { level: number; msg: string; left_out?: number; edge?: string };

function logAt(nowMs: () => number): { log: ReturnType<typeof createBoundedLog>; lines: Line[] } {
  const lines: Line[] = [];
  const log = createBoundedLog({ level: 'info' }, nowMs, {
    write: (text) => void lines.push(JSON.parse(text) as Line),
  });
  return { log, lines };
}

test('a fault that shows a thousand times a minute fills the card, or hides how often it came', () => {
  let nowMs = 0;
  const { log, lines } = logAt(() => nowMs);
  for (let count = 0; count < 1000; count += 1) log.warn({ edge: 'mqtt', count }, 'no answer');
  expect(lines).toHaveLength(10);
  // Another place and another level are other lines.
  log.warn({ edge: 'serial:sump' }, 'no answer');
  log.error({ edge: 'mqtt' }, 'no answer');
  expect(lines).toHaveLength(12);
  nowMs += 60_000;
  log.warn({ edge: 'mqtt' }, 'no answer');
  expect(lines.at(-1)).toMatchObject({ msg: 'no answer', edge: 'mqtt', left_out: 990 });
  log.warn({ edge: 'mqtt' }, 'no answer');
  expect(lines.at(-1)).not.toHaveProperty('left_out');
});

test('a stranger who makes up names without end grows the memory, or silences the lines of others', () => {
  let nowMs = 0;
  const { log, lines } = logAt(() => nowMs);
  log.info('the hub is running');
  for (let count = 0; count < 5000; count += 1) log.warn({ source: `mqtt:made/up/${count}` }, 'not a reading');
  expect(lines.length).toBeLessThanOrEqual(510);
  log.info('the hub is running');
  expect(lines.at(-1)?.msg).toBe('the hub is running');
  nowMs += 60_000;
  log.error(new Error('a plain error'));
  expect(lines.at(-1)).toMatchObject({ level: 50, msg: 'a plain error' });
});
