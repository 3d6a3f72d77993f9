import { describe, expect, test } from 'vitest';
import type { SlotName } from '#rules/bands/kinds/list.ts';
import { analyteOf } from '#rules/bands/room-index.ts';
import { slots } from '#rules/bands/rule-settings.ts';
import { hintFor } from '#rules/bands/stream-hint.ts';
import { hourMs, mondayMs } from './script.ts';
import { type StandingRoom, standingRoom } from './standing-room.ts';

// That doses lift the pH and carbon dioxide of the room lowers it: common practice, no published source.

/** What the rest of one system says about its pH, and about nothing else. */

const bands = { ph: { low: 7.8, high: 8.4 }, alkalinity: { low: 7.5, high: 9 } };
const roomAir = /room air is the likely cause/;

/** A tank with a good alkalinity an hour ago; `change` before the question. */
function hint(slot: SlotName, change: (room: StandingRoom) => void = () => undefined, metric: 'ph' | 'orp' = 'ph') {
  const room = standingRoom(bands);
  const stream = room.stream(metric, 'glass');
  analyteOf(room.index, 'tank', 'alkalinity')!.tests.push({ timeMs: mondayMs - hourMs, value: 8 });
  change(room);
  return hintFor(room.index, stream, slot);
}
const alkalinityOf = (room: StandingRoom) => analyteOf(room.index, 'tank', 'alkalinity')!;

describe('a pH alarm', () => {
  test('is explained on the wrong side, or one without a side is explained', () => {
    const dosed = (room: StandingRoom) => alkalinityOf(room).doses.push({ timeMs: mondayMs - hourMs, raisesBy: 1 });
    expect(hint('below')).toMatch(roomAir);
    expect(hint('above', dosed)).toMatch(/overdose/);
    for (const slot of ['rate', 'departure'] as const) {
      const moved = (by: number) => (room: StandingRoom) => {
        dosed(room);
        const { figures } = room.stream('ph', 'glass').series;
        figures.moveInHour = slot === 'rate' ? by : -by;
        figures.distanceFromUsual = slot === 'departure' ? by : -by;
      };
      expect(hint(slot, moved(-0.2))).toMatch(roomAir);
      expect(hint(slot, moved(0.2))).toMatch(/overdose/);
    }
    const sided: SlotName[] = ['above', 'below', 'rate', 'departure'];
    for (const slot of Object.keys(slots) as SlotName[]) if (!sided.includes(slot)) expect(hint(slot, dosed)).toBe('');
    expect(hint('below', undefined, 'orp')).toBe('');
  });

  test('is explained by an alkalinity on an edge of its band, or beyond it', () => {
    const tested = (value: number) => (room: StandingRoom) => {
      alkalinityOf(room).tests = [{ timeMs: mondayMs - hourMs, value }];
    };
    for (const value of [7.5, 8, 9]) expect(hint('below', tested(value))).toMatch(roomAir);
    for (const value of [7.49, 9.01]) expect(hint('below', tested(value))).toBe('');
    // The newest test counts.
    const twice = (room: StandingRoom) => alkalinityOf(room).tests.push({ timeMs: mondayMs, value: 7 });
    expect(hint('below', twice)).toBe('');
    const never = (room: StandingRoom) => {
      alkalinityOf(room).tests = [];
    };
    expect(hint('below', never)).toBe('');
    const old = (room: StandingRoom) => {
      alkalinityOf(room).tests = [{ timeMs: mondayMs - 97 * hourMs, value: 8 }];
    };
    expect(hint('below', old)).toBe('');
    const free = standingRoom({ ph: bands.ph });
    const stream = free.stream('ph');
    expect(hintFor(free.index, stream, 'below')).toBe('');
    analyteOf(free.index, 'tank', 'alkalinity')!.tests.push({ timeMs: mondayMs, value: 8 });
    expect(hintFor(free.index, stream, 'below')).toBe('');
    expect(hintFor(free.index, stream, 'above')).toBe('');
  });

  test('believes an estimator that has fallen silent, or not one that speaks', () => {
    const spoke = (hoursAgo: number, hoursToLeave: number | null) => (room: StandingRoom) => {
      const analyte = alkalinityOf(room);
      analyte.forecastMs = mondayMs - hoursAgo * hourMs;
      analyte.forecast.hoursToLeave = hoursToLeave;
    };
    expect(hint('below', spoke(3, null))).toMatch(/^Alkalinity is steady/);
    expect(hint('below', spoke(3, 10))).toBe('');
    expect(hint('below', spoke(3.01, null))).toMatch(/^Alkalinity was in its band/);
    expect(hint('below', spoke(3.01, 10))).toMatch(/^Alkalinity was in its band/);
  });

  test('hears of carbon dioxide of an hour ago, of another system, or of none', () => {
    const air =
      (agoMs: number, system = 'tank', value: number | null = 900) =>
      (room: StandingRoom) => {
        const { series } = room.stream('pco2', 'nose', system);
        series.goodValue = value;
        series.goodMs = mondayMs - agoMs;
      };
    expect(hint('below', air(hourMs - 1))).toMatch(/^Carbon dioxide is up/);
    expect(hint('below', air(hourMs))).toMatch(/^Alkalinity was/);
    expect(hint('below', air(0, 'sump'))).toMatch(/^Alkalinity was/);
    expect(hint('below', air(0, 'tank', null))).toMatch(/^Alkalinity was/);
    const warm = (room: StandingRoom) => {
      const { series } = room.stream('temperature');
      series.goodValue = 900;
      series.goodMs = mondayMs;
    };
    expect(hint('below', warm)).toMatch(/^Alkalinity was/);
  });

  test('speaks of the calibration of another probe', () => {
    const calibrated = (probe: string) => (room: StandingRoom) => {
      room.state.calibrations.push({ probe, timeMs: mondayMs - hourMs });
    };
    expect(hint('below', calibrated('glass'))).toMatch(/^The probe was calibrated/);
    expect(hint('below', calibrated('cell'))).toMatch(roomAir);
  });
});
