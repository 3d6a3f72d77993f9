import { expect, test } from 'vitest';
import { createBoundedLog } from '#hub/outside/observability/bounded-log.ts';
import { logDestination, logWords } from '#hub/outside/observability/log-words.ts';

/** What a log writes to an output of this kind. */
function written(
  isTTY: boolean,
  env: Record<string, string>,
  fill: (log: ReturnType<typeof createBoundedLog>) => void,
) {
  let text = '';
  const output = {
    isTTY,
    write: (more: string) => {
      text += more;
    },
  };
  // Without a destination the log writes its JSON to standard output itself.
  const destination = logDestination(output, env) ?? output;
  fill(createBoundedLog({ level: 'info', base: { invented: true } }, () => 0, destination));
  return text;
}

const fill = (log: ReturnType<typeof createBoundedLog>) =>
  log.warn({ source: 'serial:sump', reason: 'not a number', found: 't=2\u001b[2J5\nall is well' }, 'not a reading');

test('a person at a terminal gets JSON, or the escape codes of a board', () => {
  expect(written(true, {}, fill)).toMatch(
    /^\d\d:\d\d:\d\d warn not a reading: source serial:sump, reason not a number, found t=2\[2J5 all is well \[invented\]\n$/,
  );
  expect(written(true, {}, fill)).not.toContain('\u001b');
});

test.each([
  { isTTY: false, env: {} },
  { isTTY: true, env: { NOTIFY_SOCKET: '/run/systemd/notify' } },
  { isTTY: true, env: { JOURNAL_STREAM: '8:1' } },
])('a program that reads the log gets words: $isTTY $env', ({ isTTY, env }) => {
  expect(JSON.parse(written(isTTY, env, fill))).toMatchObject({ msg: 'not a reading', invented: true });
});

test('an error is a stack of the program on the terminal, or says nothing', () => {
  const said = written(true, {}, (log) =>
    log.error({ err: new Error('the card is full'), dir: '/media' }, 'the backup failed'),
  );
  expect(said.slice(9)).toBe('error the backup failed: the card is full, dir /media [invented]\n');
});

test('lines that were left out are not counted, or a line that is no JSON is lost', () => {
  expect(logWords('{"level":30,"time":"2026-11-25T09:30:00.000Z","left_out":990,"msg":"no answer"}\n')).toBe(
    '09:30:00 info no answer (and 990 more like it)',
  );
  expect(logWords('boot ok\n')).toBe('boot ok');
});
