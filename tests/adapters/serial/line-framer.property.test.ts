import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { createLineFramer, type FramerLimits } from '#adapters/serial/line-framer.ts';

const limits: FramerLimits = { lineEnd: 'lf', mostLineBytes: 16, noLineEndBytes: 64, mostGapMs: 2000 };

function frame(chunks: readonly (Buffer | string)[], more: Partial<FramerLimits> = {}, gapMs = 0) {
  const lines: string[] = [];
  const skipped: [string, string][] = [];
  const framer = createLineFramer(
    { ...limits, ...more },
    {
      line: (bytes) => lines.push(bytes.toString('latin1')),
      skipped: (reason, found) => skipped.push([reason, found.toString('latin1')]),
    },
  );
  for (const [index, chunk] of chunks.entries()) framer.push(Buffer.from(chunk as string, 'latin1'), index * gapMs);
  return { framer, lines, skipped };
}

/** Bytes rich in line ends, which the interesting cases are made of. */
const bytes = fc
  .array(fc.oneof({ weight: 3, arbitrary: fc.constantFrom(10, 13) }, { weight: 10, arbitrary: fc.nat(255) }), {
    maxLength: 400,
  })
  .map((all) => Buffer.from(all));

describe.each(['lf', 'cr', 'crlf'] as const)('line end %s', (lineEnd) => {
  test('the same bytes give the same lines, in whatever pieces the driver hands them over', () => {
    fc.assert(
      fc.property(bytes, fc.array(fc.integer({ min: 1, max: 50 }), { minLength: 1 }), (all, sizes) => {
        const chunks: Buffer[] = [];
        for (let at = 0, turn = 0; at < all.length; turn += 1) {
          const size = sizes[turn % sizes.length]!;
          chunks.push(all.subarray(at, at + size));
          at += size;
        }
        const whole = frame([all], { lineEnd });
        const cut = frame(chunks, { lineEnd });
        expect(cut.lines).toEqual(whole.lines);
        expect(cut.skipped).toEqual(whole.skipped);
      }),
    );
  });

  test('no line is longer than allowed, empty, or made of two', () => {
    fc.assert(
      fc.property(bytes, (all) => {
        const end = { lf: '\n', cr: '\r', crlf: '\r\n' }[lineEnd];
        const text = all.toString('latin1');
        for (const line of frame([all], { lineEnd }).lines) {
          expect(line.length).toBeGreaterThan(0);
          expect(line.length).toBeLessThanOrEqual(limits.mostLineBytes);
          expect(line).not.toContain(end);
          expect(text).toContain(`${line}${lineEnd === 'lf' ? '' : end}`);
        }
      }),
    );
  });
});

test('the piece before the first line end after opening is no line: it may be the tail of one', () => {
  expect(frame(['5.31\n8.10\n'])).toMatchObject({ lines: ['8.10'], skipped: [['partial', '5.31']] });
  expect(frame(['\n8.10\n'])).toMatchObject({ lines: ['8.10'], skipped: [] });
});

test('half a line at unplug is no line, nor is it joined to what comes after', () => {
  const { framer, lines, skipped } = frame(['\n8.1']);
  framer.reset();
  framer.push(Buffer.from('5\n8.20\n'), 1);
  expect(lines).toEqual(['8.20']);
  expect(skipped.map(([reason]) => reason)).toEqual(['partial', 'partial']);
});

test('a line of exactly the allowed length passes, with either end, and one byte more does not', () => {
  const longest = 'x'.repeat(16);
  expect(frame([`\n${longest}\n${longest}\r\n`]).lines).toEqual([longest, longest]);
  expect(frame([`\n${longest}y\nok\n`])).toMatchObject({ lines: ['ok'], skipped: [['too_long', `${longest}y`]] });
  expect(frame([`\r${longest}y\rok\r`], { lineEnd: 'cr' })).toMatchObject({ lines: ['ok'] });
});

test('a line that never ends is counted once as too long and once as a fault, and costs no memory', () => {
  const { lines, skipped } = frame(['\n', ...Array.from({ length: 1000 }, () => 'x'.repeat(100)), '\nok\n']);
  expect(lines).toEqual(['ok']);
  expect(skipped.map(([reason]) => reason)).toEqual(['too_long', 'no_line_end']);
});

test('noise without a line end right after opening is a fault too', () => {
  expect(frame(['x'.repeat(64)]).skipped.map(([reason]) => reason)).toEqual(['no_line_end']);
});

test('a probe that loses power inside a line does not join its half line to the next one', () => {
  expect(frame(['\n8', '8.12\n8.13\n'], {}, 2001)).toMatchObject({ lines: ['8.13'] });
  expect(frame(['\n8', '.12\n8.13\n'], {}, 1999)).toMatchObject({ lines: ['8.12', '8.13'] });
});

test('with CR LF a lone LF does not end a line, so a line that lost a byte is not taken for two', () => {
  expect(frame(['\r\n8.1\n2\r\n'], { lineEnd: 'crlf' }).lines).toEqual(['8.1\n2']);
});

test('with CR the LF of a device that sends both is not part of the next line', () => {
  expect(frame(['\r8.1\r\n8.2\r\n'], { lineEnd: 'cr' }).lines).toEqual(['8.1', '8.2']);
});
