import fc from 'fast-check';
import { expect, test } from 'vitest';
import { commandFromText } from '#hub/notices/command.ts';
import { phoneLine, phoneLineMostCharacters } from '#hub/notices/phone-line.ts';

test('a line is too long for a locked phone, or broken over two lines', () => {
  fc.assert(
    fc.property(
      fc.string({ unit: 'binary', maxLength: 600 }),
      fc.string({ unit: 'binary', maxLength: 60 }),
      (message, name) => {
        const line = phoneLine(
          {
            timeMs: 0,
            alarm: 'a/temperature/out_of_band',
            occurrence: 1,
            state: 'raised',
            system: 'a',
            metric: 'temperature',
            rule: 'out_of_band',
            priority: 'high',
            message,
          },
          name,
        );
        expect(line).toBeDefined();
        expect([...(line ?? '')].length).toBeLessThanOrEqual(phoneLineMostCharacters);
        expect(line).not.toMatch(/[\r\n]/);
        expect(line).toMatch(/^ACT NOW · /);
      },
    ),
  );
});

test('a command from a stranger ends the hub, or shelves an alarm for ever', () => {
  fc.assert(
    fc.property(fc.oneof(fc.string(), fc.json()), (text) => {
      const result = commandFromText(text, 0);
      if (result.ok) expect(['acknowledge']).toContain(result.command.do);
    }),
  );
  expect(commandFromText('acknowledge display/temperature/out_of_band', 0)).toMatchObject({ ok: true });
  expect(commandFromText('{"do":"shelve","alarm":"x","minutes":1e9}', 0)).toMatchObject({ ok: false });
  expect(commandFromText('{"do":"shelve","alarm":"x","minutes":30}', 1000)).toEqual({
    ok: true,
    command: { do: 'shelve', alarm: 'x', by: 'phone', untilMs: 1000 + 30 * 60_000 },
  });
});
