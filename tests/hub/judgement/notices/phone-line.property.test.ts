import fc from 'fast-check';
import { expect, test } from 'vitest';
import { commandFromText } from '#hub/judgement/notices/command.ts';
import {
  alarmText,
  clearedLine,
  escalatedLine,
  manyLine,
  openingLine,
  phoneLineMostCharacters,
} from '#hub/judgement/notices/phone-line.ts';

test('a line is too long for a locked phone, or broken over two lines', () => {
  const text = fc.string({ unit: 'binary', maxLength: 600 });
  fc.assert(
    fc.property(
      text,
      fc.string({ unit: 'binary', maxLength: 60 }),
      fc.integer({ min: 1, max: 60 }),
      (message, name, count) => {
        const about = alarmText(name, message);
        const many = Array.from({ length: count }, (_, index) => ({ system: `s${index % 7}`, text: about }));
        const lines = [
          openingLine('high', about),
          openingLine('low', about, '3 Nov 02:10'),
          clearedLine(about),
          manyLine('medium', 'more', many, 3),
          manyLine('medium', 'still', many, 0),
          escalatedLine(many, 1_200_000),
        ];
        for (const line of lines) {
          expect([...line].length).toBeLessThanOrEqual(phoneLineMostCharacters);
          expect(line).not.toMatch(/[\r\n]/);
          expect(line).toMatch(/^(ACT NOW|Act today|Have a look|Back to normal)\b.* · /);
        }
      },
    ),
  );
});

test('somebody reads of 4 systems where there is one, or of 1 alarms', () => {
  const alarms = ['a', 'a', 'b'].map((system) => ({ system, text: `${system}: too warm.` }));
  expect(manyLine('high', 'more', alarms, 2)).toBe(
    'ACT NOW · 3 more alarms in 2 systems, 2 back to normal. Most urgent: a: too warm.',
  );
  expect(manyLine('low', 'still', alarms.slice(0, 1), 0)).toBe(
    'Have a look · 1 alarm in 1 system not acknowledged. Most urgent: a: too warm.',
  );
});

test('a command from a stranger ends the hub, or shelves an alarm for ever', () => {
  fc.assert(
    fc.property(fc.oneof(fc.string(), fc.json()), (text) => {
      const result = commandFromText(text, 0);
      if (result.ok && 'untilMs' in result.command) expect(result.command.untilMs).toBeLessThanOrEqual(14 * 86_400_000);
    }),
  );
  expect(commandFromText('acknowledge display/temperature/out_of_band', 0)).toMatchObject({ ok: true });
  expect(commandFromText('{"do":"shelve","alarm":"x","minutes":1e9}', 0)).toMatchObject({ ok: false });
  expect(commandFromText('shelve x 999999', 0)).toMatchObject({ ok: false });
  expect(commandFromText('{"do":"shelve","alarm":"x","minutes":30}', 1000)).toEqual({
    ok: true,
    command: { do: 'shelve', alarm: 'x', by: 'phone', untilMs: 1000 + 30 * 60_000 },
  });
});

test('a line typed with wet hands is not understood, or as something else', () => {
  const meant = (text: string) => {
    const result = commandFromText(text, 0);
    return result.ok ? result.command : result.need;
  };
  for (const text of ['all well?', 'All well', ' ALL   WELL ?\n', '{"do":"status"}'])
    expect(meant(text)).toEqual({ do: 'status' });
  for (const text of ['acknowledge all', 'Acknowledge  ALL ', '{"do":"acknowledge_all"}'])
    expect(meant(text)).toEqual({ do: 'acknowledge_all', by: 'phone' });
  expect(meant('acknowledge display/ph/out_of_band/low')).toEqual({
    ...{ do: 'acknowledge', alarm: 'display/ph/out_of_band/low', by: 'phone' },
  });
  expect(meant('shelve a/ph/rate 90')).toEqual({ do: 'shelve', alarm: 'a/ph/rate', untilMs: 5_400_000, by: 'phone' });
  expect(meant('shelve a/ph/rate 90  new electrode on Friday ')).toEqual({
    ...{ do: 'shelve', alarm: 'a/ph/rate', untilMs: 5_400_000, by: 'phone', why: 'new electrode on Friday' },
  });
  expect(meant('{"do":"shelve","alarm":"x","minutes":1,"by":"Ana","why":"a spare is on its way"}')).toMatchObject({
    ...{ by: 'Ana', why: 'a spare is on its way' },
  });
  expect(meant(`shelve a/ph/rate 90 ${'x'.repeat(201)}`)).toMatch(/^JSON such as/);
  expect(meant('unshelve a/ph/rate')).toEqual({ do: 'unshelve', alarm: 'a/ph/rate', by: 'phone' });
  expect(meant('maintenance display 30')).toEqual({
    do: 'maintenance',
    system: 'display',
    untilMs: 1_800_000,
    by: 'phone',
  });
  expect(meant('end maintenance display')).toEqual({ do: 'end_maintenance', system: 'display', by: 'phone' });
  expect(meant('all is lost')).toMatch(/^JSON such as/);
});
