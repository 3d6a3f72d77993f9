import { describe, expect, test } from 'vitest';
import { decodeBareNumber } from '#adapters/decoders/bare-number.ts';
import { decodeCsvLine } from '#adapters/decoders/csv-line.ts';
import { decodeKeyValue } from '#adapters/decoders/key-value.ts';

const nowMs = 0;
const values = (decoding: ReturnType<typeof decodeBareNumber>) => (decoding.ok ? decoding.values : decoding.reason);

describe('a bare number', () => {
  test.each([
    ['25.31', 25.31],
    [' 8.1 ', 8.1],
    ['-0.5', -0.5],
    ['+7', 7],
    ['.5', 0.5],
    ['5.', 5],
    ['5.31e1', 53.1],
  ])('%j is read', (text, value) => {
    expect(values(decodeBareNumber(text, { nowMs }))).toEqual([{ channel: '', value }]);
  });

  test.each([
    ['an empty line is not 0', ''],
    ['a decimal comma does not cut 8,1 to 8', '8,1'],
    ['hexadecimal is not read', '0x1f'],
    ['a tail of garbage does not pass', '8.1x'],
    ['a garbled second number does not pass', '8.1 8'],
    ['two points do not pass', '8.1.2'],
    ['digits of other scripts do not pass', '٨'],
    ['an error word does not pass', 'ERR'],
    ['digits by the hundred do not pass', '8'.repeat(100)],
  ])('%s', (_claim, text) => {
    expect(values(decodeBareNumber(text, { nowMs }))).toBe('malformed');
  });

  test.each(['nan', 'NaN', 'inf', '-Infinity', '1e999'])('%s is no reading', (text) => {
    expect(values(decodeBareNumber(text, { nowMs }))).toBe('not_finite');
  });
});

describe('key=value', () => {
  test.each(['t=25.31 ph=8.1', 't=25.31,ph=8.1', 't=25.31; ph=8.1', 't = 25.31\tph =8.1', ' t=25.31  ph=8.1 '])(
    '%j gives both values',
    (line) => {
      expect(values(decodeKeyValue(line, { nowMs }))).toEqual([
        { channel: 't', value: 25.31 },
        { channel: 'ph', value: 8.1 },
      ]);
    },
  );

  test.each([
    ['t=25.3C', 25.3, 'C'],
    ['t=77.5°F', 77.5, '°F'],
    ['ec=53.1mS/cm', 53.1, 'mS/cm'],
    ['rh=40%', 40, '%'],
    ['ec=5.31e1mS/cm', 53.1, 'mS/cm'],
    ['i=60µg/L', 60, 'µg/L'],
  ])('%s has its unit apart from its number', (line, value, unit) => {
    expect(values(decodeKeyValue(line, { nowMs }))).toEqual([{ channel: line.split('=')[0], value, unit }]);
  });

  test('a failed probe on the line is set aside and does not silence the others', () => {
    expect(decodeKeyValue('t=25.3 ph=nan pump=on', { nowMs })).toMatchObject({
      ok: true,
      values: [{ channel: 't', value: 25.3 }],
      setAside: [{ reason: 'not_finite' }, { reason: 'malformed' }],
    });
  });

  test.each([
    ['a decimal comma does not turn 25,31 into 25', 't=25,31'],
    ['noise in one place spoils the line', 't=25.31 p#=8.1'],
    ['a word without a value spoils the line', 'OK t=25.31'],
    ['a name that comes twice is not guessed at', 't=25.31 t=2.1'],
    ['a torn exponent is not a unit', 't=1e'],
    ['a lost separator does not pass', 't=25.31ph=8.1'],
    ['a key of the prototype is no name', 'constructor=1'],
    ['an underscore key is no name', '__proto__=1'],
    ['an empty value is no number', 't='],
    ['an empty line is nothing', '  '],
  ])('%s', (_claim, line) => {
    expect(values(decodeKeyValue(line, { nowMs }))).toBe('malformed');
  });

  test('a line of only failed probes says that they are not finite', () => {
    expect(decodeKeyValue('ph=nan', { nowMs })).toEqual({ ok: false, reason: 'not_finite', found: 'ph=nan' });
  });
});

describe('CSV columns', () => {
  const columns = ['t', '-', 'ph'];

  test('columns are named by their order and - is skipped', () => {
    expect(values(decodeCsvLine('25.31, ok ,8.12', { nowMs, columns }))).toEqual([
      { channel: 't', value: 25.31 },
      { channel: 'ph', value: 8.12 },
    ]);
  });

  test.each([';', '\t', ' '] as const)('the separator %j is taken from the configuration', (separator) => {
    expect(values(decodeCsvLine(`25.31${separator}x${separator}8.12`, { nowMs, columns, separator }))).toHaveLength(2);
  });

  test('blanks that line columns up are one separator', () => {
    expect(values(decodeCsvLine('  25.31   x  8.12 ', { nowMs, columns, separator: ' ' }))).toHaveLength(2);
  });

  test.each([
    ['a torn line is not half used', '25.31,ok'],
    ['a decimal comma does not shift the columns', '25,31,ok,8.12'],
    ['an empty line is nothing', ''],
  ])('%s', (_claim, line) => {
    expect(values(decodeCsvLine(line, { nowMs, columns }))).toBe('malformed');
  });

  test('an empty column is passed over and a failed one is set aside', () => {
    expect(decodeCsvLine('25.31,,', { nowMs, columns })).toMatchObject({ values: [{ channel: 't' }], setAside: [] });
    expect(decodeCsvLine('25.31,,ERR', { nowMs, columns })).toMatchObject({
      values: [{ channel: 't' }],
      setAside: [{ reason: 'malformed', found: 'ph: ERR' }],
    });
  });

  test('a port without configured columns gives nothing', () => {
    expect(values(decodeCsvLine('25.31', { nowMs }))).toBe('malformed');
  });
});
