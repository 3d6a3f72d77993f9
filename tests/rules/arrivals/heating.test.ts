import { describe, expect, it } from 'vitest';
import { hoursToWarm } from '#rules/arrivals/heating.ts';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';

// UNESCO 44 (EOS-80): 1023.343 kg/m³ at salinity 35 and 25 °C. TEOS-10: 3999 J/kg/K. 100 L hold 409,235 J for each °C.
const heat_J_K = 0.1 * 1023.343 * 3999;

/** Newton's law of cooling in steps of ten seconds: another way to the same hours. */
function hoursBySteps(from_C: number, to_C: number, heater_W: number, room_C: number, loss_W_K: number): number {
  const step_s = 10;
  let [water_C, time_s] = [from_C, 0];
  while (water_C < to_C) {
    water_C += ((heater_W - loss_W_K * (water_C - room_C)) * step_s) / heat_J_K;
    time_s += step_s;
  }
  return time_s / 3600;
}

describe('the hours that new water needs to be warm', () => {
  it('are not heat over power where nothing is lost', () => {
    // By hand: 409,235 J/K × 10 K / 300 W / 3600 = 3.789 h.
    const wish = { volumeL: 100, from_C: 15, to_C: 25, heater_W: 300 };
    expect(hoursToWarm(wish)).toBeCloseTo(3.789, 3);
    expect(hoursToWarm({ ...wish, room_C: 18 })).toBeCloseTo(3.789, 3);
    expect(hoursToWarm({ ...wish, from_C: 25 })).toBe(0);
  });

  it('leave out what the vessel loses to the room, or gains from it', () => {
    const worst = [
      [15, 25, 300, 18, 10],
      [10, 26, 200, 21, 8],
      [20, 27, 150, 15, 5],
    ].map((each) => {
      const [from_C, to_C, heater_W, room_C, loss_W_K] = each as [number, number, number, number, number];
      const found = hoursToWarm({ volumeL: 100, from_C, to_C, heater_W, room_C, loss_W_K })!;
      return Math.abs(found - hoursBySteps(from_C, to_C, heater_W, room_C, loss_W_K));
    });
    for (const hours of worst) expect(hours).toBeLessThan(0.01);
  });

  it('are promised by a heater that never gets there', () => {
    // 10 W/K × 10 K = 100 W hold 25 °C in a room of 15 °C and leave nothing to warm with.
    const wish = { volumeL: 100, from_C: 20, to_C: 25, room_C: 15, loss_W_K: 10 };
    expect(hoursToWarm({ ...wish, heater_W: 100 })).toBeUndefined();
    expect(hoursToWarm({ ...wish, heater_W: 101 })).toBeGreaterThan(10);
    for (const heater_W of [0, -1, 1e6, Number.NaN])
      expect(() => hoursToWarm({ ...wish, heater_W })).toThrow(OutOfRange);
  });
});

it('the hours to warm water count a loss to a room that is not known, or ask for heat where none is needed', () => {
  const wish = { volumeL: 100, from_C: 15, to_C: 25, heater_W: 300 };
  expect(hoursToWarm({ ...wish, loss_W_K: 10 })).toBe(hoursToWarm(wish));
  // 10 W/K × 10 K are more than the heater gives; what is warm already needs none of it.
  expect(hoursToWarm({ ...wish, from_C: 25, heater_W: 50, room_C: 15, loss_W_K: 10 })).toBe(0);
});
