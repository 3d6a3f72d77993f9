import { describe, expect, it } from 'vitest';
import { hoursToWarm } from '#rules/arrivals/heating.ts';
import { batchMatch } from '#rules/arrivals/new-water.ts';
import { type ArrivalWish, waterForArrival } from '#rules/arrivals/prepare.ts';

const wish: ArrivalWish = {
  pieces: [
    { count: 20, longest_cm: 4 },
    { count: 2, longest_cm: 8 },
  ],
  vesselL: 5,
  tankShare: 0.6,
  salinity: 35,
  strength: { gramsPerLitreAt35: 38, sd_g_L: 0 },
};

describe('new water beside the tank’s', () => {
  it('speaks of °C to a keeper who reads °F', () => {
    // °F = °C × 9/5 + 32, by definition.
    const { metrics } = batchMatch({ temperature: 20 }, { temperature: 25 }, undefined, { temperature: '°F' });
    expect(metrics[0]?.text).toBe("The temperature is 68.00 °F, the tank's 77.00 °F: more than 1.8 °F apart. Warm it.");
  });
});

describe('water for an arrival worked by hand', () => {
  // 20 cubes of 6 cm (0.216 L) and 2 of 10 cm (1 L): 6.32 L, in vessels of 5 L two baths of 3.16 L. Tank 0.6 × 6.32 = 3.792,
  // bags 2.528; fresh 3.792 + 6.32 rinse = 10.112, with a tenth to spare 11.1232 L; salt 38 g/L: 422.68 g.
  it('baths, fresh water or salt are not those worked out', () => {
    const water = waterForArrival(wish);
    expect(water.baths).toBe(2);
    expect(water.bathL).toBeCloseTo(3.16, 9);
    expect(water.tankL).toBeCloseTo(3.792, 9);
    expect(water.bagL).toBeCloseTo(2.528, 9);
    expect(water.rinseL).toBeCloseTo(6.32, 9);
    expect(water.freshL).toBeCloseTo(11.1232, 9);
    expect(water.salt_g).toBeCloseTo(422.6816, 6);
    expect(water.warnings).toEqual([]);
    expect(water).not.toHaveProperty('warmHours');
    expect(water.leadHours).toBe(24);
  });

  it('bags with little water are counted as full', () => {
    const dry = waterForArrival({ ...wish, bagWaterL: 1.58 });
    expect(dry.tankShare).toBeCloseTo(0.75, 9);
    expect(dry.tankL + dry.bagL).toBeCloseTo(6.32, 9);
    expect(dry.warnings.join(' ')).toContain('too little water');
    expect(waterForArrival({ ...wish, bagWaterL: 9 }).tankShare).toBe(0.6);
  });

  it('one frag gets a thimble of a bath, or a colony a bath that does not cover it', () => {
    expect(waterForArrival({ ...wish, pieces: [{ count: 1, longest_cm: 3 }] })).toMatchObject({ baths: 1, bathL: 2 });
    // A colony of 14 cm needs 16³ = 4.096 L and frags beside it another 2.16: two baths, neither below 4.096 L.
    const colony = waterForArrival({
      ...wish,
      pieces: [
        { count: 1, longest_cm: 14 },
        { count: 10, longest_cm: 4 },
      ],
    });
    expect(colony.baths).toBe(2);
    expect(colony.bathL).toBeCloseTo(4.096, 9);
  });

  it('slow heating does not set the time to begin', () => {
    const warm = { from_C: 15, to_C: 25, heater_W: 1 };
    const water = waterForArrival({ ...wish, warm, mixingHours: 4 });
    expect(water.leadHours).toBe(water.warmHours);
    const weak = waterForArrival({ ...wish, warm: { ...warm, room_C: 15, loss_W_K: 1 } });
    expect(weak).not.toHaveProperty('warmHours');
    expect(weak.warnings.join(' ')).toContain('too weak');
  });

  it('a salt of unknown strength passes unremarked', () => {
    const water = waterForArrival({ ...wish, strength: { gramsPerLitreAt35: 38, sd_g_L: 1 } });
    expect(water.salinitySd).toBeCloseTo(35 / 38, 9);
    expect(water.warnings.join(' ')).toContain('poorly known');
  });

  it.each<[string, Partial<ArrivalWish>, RegExp]>([
    ['no pieces', { pieces: [] }, /pieces is 0/],
    ['half a piece', { pieces: [{ count: 0.5, longest_cm: 4 }] }, /a whole number/],
    ['minus two pieces', { pieces: [{ count: -2, longest_cm: 4 }] }, /pieces of one size/],
    ['a colony larger than the vessel', { pieces: [{ count: 1, longest_cm: 30 }] }, /the vessel's 5/],
    ['mostly bag water', { tankShare: 0.3 }, /tank share is 0.3/],
    ['negative bag water', { bagWaterL: -1 }, /water in the bags, L is -1/],
  ])('%s are prepared for', (_, change, message) => {
    expect(() => waterForArrival({ ...wish, ...change })).toThrow(message);
  });
});

describe('warming by hand', () => {
  // 100 L × 1.02334 kg/L × 3999 J/kg/K × 5 K = 2.0462 MJ; at 300 W 6,820.6 s = 1.8946 h. Density at 35, 25 °C: UNESCO 44.
  it('a heater warms faster than its watts', () => {
    expect(hoursToWarm({ volumeL: 100, from_C: 20, to_C: 25, heater_W: 300 })).toBeCloseTo(1.8946, 4);
  });

  it('the loss to the room is not what small steps of time add up to', () => {
    const wished = { volumeL: 20, from_C: 18, to_C: 25, heater_W: 50, room_C: 19, loss_W_K: 3 };
    const hours = hoursToWarm(wished)!;
    let temperature_C = 18;
    let seconds = 0;
    for (; temperature_C < 25; seconds += 10) {
      temperature_C += (10 * (50 - 3 * (temperature_C - 19))) / (20 * 1.02334 * 3999);
    }
    expect(hours).toBeCloseTo(seconds / 3600, 1);
    expect(hoursToWarm({ ...wished, loss_W_K: 1e-6 })).toBeCloseTo(hoursToWarm({ ...wished, loss_W_K: 0 })!, 4);
    expect(hoursToWarm({ ...wished, heater_W: 18 })).toBeUndefined();
    expect(hoursToWarm({ ...wished, from_C: 26 })).toBe(0);
    expect(() => hoursToWarm({ ...wished, heater_W: 0 })).toThrow(/heater/);
  });
});

describe('a batch held against the tank', () => {
  const tank = { temperature: 25.3, salinity: 35, alkalinity: 8.2 };

  it('water that differs, or that nobody measured, is used', () => {
    expect(batchMatch({ temperature: 26.3, salinity: 34.6, alkalinity: 9.2 }, tank).isReady).toBe(true);
    const cold = batchMatch({ temperature: 21, salinity: 35, alkalinity: 8 }, tank);
    expect(cold.isReady).toBe(false);
    expect(cold.metrics[0]).toMatchObject({ verdict: 'differs' });
    expect(cold.metrics[0]!.text).toContain('Warm it.');
    const untested = batchMatch({ temperature: 25, salinity: 35 }, tank);
    expect(untested.isReady).toBe(false);
    expect(untested.metrics[2]).toEqual({
      ...{ metric: 'alkalinity', verdict: 'not_known' },
      text: 'The alkalinity of the new water is not known: measure it first.',
    });
    expect(batchMatch({ ...tank, salinity: 36 }, tank).metrics[1]!.text).toContain('Add fresh water');
    expect(batchMatch({ ...tank, salinity: 36 }, tank, { temperature: 1, salinity: 1, alkalinity: 1 }).isReady).toBe(
      true,
    );
  });

  it('a specific gravity typed as salinity, or a tolerance of nothing, is judged', () => {
    expect(() => batchMatch({ ...tank, salinity: 1026 }, tank)).toThrow(/salinity is 1026/);
    expect(() => batchMatch(tank, tank, { temperature: 0, salinity: 1, alkalinity: 1 })).toThrow(/tolerance/);
  });
});

it('new water that does not match is named without what to do about it, or the water that was not measured is not named', () => {
  const said = (batch: number | undefined, tank: number | undefined) => {
    const of = (alkalinity: number | undefined) => (alkalinity === undefined ? {} : { alkalinity });
    return batchMatch(of(batch), of(tank)).metrics.find(({ metric }) => metric === 'alkalinity')?.text;
  };
  expect(said(5, 8)).toContain('Raise it, or use less of it at once.');
  expect(said(12, 8)).toContain('Use less of it at once, or another salt.');
  expect(said(undefined, 8)).toBe('The alkalinity of the new water is not known: measure it first.');
  expect(said(8, undefined)).toBe('The alkalinity of the tank is not known: measure it first.');
});

it('new water that is too warm, too fresh or right is told in no words', () => {
  const said = (batch: number, metric: 'temperature' | 'salinity') =>
    batchMatch({ [metric]: batch }, { [metric]: 30 }).metrics.find((each) => each.metric === metric)?.text;
  expect(said(33, 'temperature')).toContain('apart. Let it cool.');
  expect(said(28, 'salinity')).toContain('apart. Add salt, let it dissolve and measure again.');
  expect(said(30, 'temperature')).toBe('The temperature matches: 30.00 °C, the tank 30.00 °C.');
});

describe('vessels and bags that are just enough', () => {
  const of = (change: Partial<ArrivalWish>) => waterForArrival({ ...wish, tankShare: 0.5, ...change });

  // By hand: ten cubes of 10 cm are ten litres; a colony of 18 cm is a cube of 20 cm, 8 L.
  it('are one too few', () => {
    expect(of({ pieces: [{ count: 10, longest_cm: 8 }], vesselL: 5 })).toMatchObject({ baths: 2, bathL: 5 });
    expect(of({ pieces: [{ count: 1, longest_cm: 18 }], vesselL: 8 })).toMatchObject({ baths: 1, bathL: 8 });
  });

  it('ask the tank for more than its share, or add up to more than a bath', () => {
    const water = of({ pieces: [{ count: 1, longest_cm: 3 }], bagWaterL: 1 });
    expect(water).toMatchObject({ tankShare: 0.5, bagShare: 0.5, tankL: 1, bagL: 1, warnings: [] });
    expect(of({ tankShare: 0.75 }).bagShare).toBe(0.25);
    expect(of({ bagWaterL: 900 }).warnings).toEqual([]);
  });
});
