import { describe, expect, it } from 'vitest';
import { type Recording, recordingHeader, recordRoom } from '../../../hub/demo/record.ts';
import { isMetric } from '../../../rules/quantity/metric.ts';

type Row = { timeMs: number; system: string; metric: string; value: number };

function rowsOf(recording: Recording): Row[] {
  const [header, ...lines] = recordRoom(recording);
  expect(header).toBe(recordingHeader);
  return lines.map((line) => {
    const [time = '', system = '', metric = '', value = ''] = line.split(',');
    return { timeMs: Date.parse(time), system, metric, value: Number(value) };
  });
}

describe('a recording of the simulated room', () => {
  it('has every probe and the salinities at every step, oldest first', () => {
    const rows = rowsOf({ days: 0.25, everySeconds: 30, seed: 1 });
    expect(rows.length).toBe(720 * (8 + 3));
    expect(new Set(rows.map(({ timeMs }) => timeMs)).size).toBe(720);
    for (const [place, row] of rows.entries()) {
      expect(isMetric(row.metric)).toBe(true);
      expect(Number.isFinite(row.value)).toBe(true);
      expect(row.timeMs).toBeGreaterThanOrEqual(rows[place - 1]?.timeMs ?? row.timeMs);
    }
  });

  it('is the same to the last digit from the same seed, and another one from another', () => {
    const text = (seed: number) => [...recordRoom({ days: 0.1, everySeconds: 60, seed })].join('\n');
    expect(text(42)).toBe(text(42));
    expect(text(42)).not.toBe(text(43));
  });

  it('carries a fault from its day on and not before', () => {
    const base: Recording = { days: 2, everySeconds: 300, seed: 8 };
    const fault = { system: 'growout', kind: 'top_off_stopped', fromDay: 1 } as const;
    const sound = rowsOf(base);
    const sick = rowsOf({ ...base, fault });
    const dayMs = 86_400_000;
    const startMs = sound[0]?.timeMs ?? 0;
    expect(sick.filter(({ timeMs }) => timeMs < startMs + dayMs)).toEqual(
      sound.filter(({ timeMs }) => timeMs < startMs + dayMs),
    );
    const last = (rows: Row[], system: string) =>
      rows.findLast((row) => row.system === system && row.metric === 'salinity')?.value ?? 0;
    expect(last(sick, 'growout')).toBeGreaterThan(last(sound, 'growout') + 0.5);
    expect(last(sick, 'display')).toBe(last(sound, 'display'));
  });

  it('recovers when the fault is mended', () => {
    const fault = { system: 'display', kind: 'heater_stuck_on', fromDay: 0.25, untilDay: 0.5 } as const;
    const rows = rowsOf({ days: 2, everySeconds: 300, seed: 8, fault }).filter(
      ({ system, metric }) => system === 'display' && metric === 'temperature',
    );
    expect(Math.max(...rows.map(({ value }) => value))).toBeGreaterThan(27.5);
    expect(rows.at(-1)?.value).toBeLessThan(25.8);
  });

  it('refuses a step that no probe has', () => {
    expect(() => [...recordRoom({ days: 1, everySeconds: 0, seed: 1 })]).toThrow(RangeError);
    expect(() => [...recordRoom({ days: 0, everySeconds: 10, seed: 1 })]).toThrow(RangeError);
  });
});
