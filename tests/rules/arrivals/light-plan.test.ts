import { describe, expect, it } from 'vitest';
import { type LightWish, lightCautions, lightPlan, relayLightPlan } from '#rules/arrivals/light-plan.ts';
import { checkedProfile, heightForPar, parAtHeight } from '#rules/arrivals/light-profile.ts';

/** Doubles each 10 cm, so that heights can be worked by hand. */
const doubling = {
  kind: 'measured' as const,
  pairs: [
    { height_cm: 0, par_umol_m2_s: 50 },
    { height_cm: 10, par_umol_m2_s: 100 },
    { height_cm: 20, par_umol_m2_s: 200 },
    { height_cm: 30, par_umol_m2_s: 400 },
  ],
};

const wish: LightWish = {
  profile: doubling,
  day: { fullHours: 10 },
  start: { par_umol_m2_s: 50 },
  target: { par_umol_m2_s: 400 },
  days: 8,
  // As steep as it is allowed, so that whole numbers can be told by head.
  mostRatio: 2,
};

describe('light between the measured places', () => {
  it('halfway in height is not the geometric mean', () => {
    const profile = checkedProfile(doubling);
    expect(parAtHeight(profile, 15)).toBeCloseTo(100 * Math.SQRT2, 9);
    expect(heightForPar(profile, 100 * Math.SQRT2)).toBeCloseTo(15, 9);
    expect(parAtHeight(profile, 0)).toBe(50);
    expect(parAtHeight(profile, 30)).toBe(400);
  });

  it('one place and an attenuation give another light than Beer and Lambert', () => {
    // 3 per metre over 0.4 m: 300 / e^1.2 = 90.358.
    const profile = checkedProfile({
      kind: 'attenuation',
      at: { height_cm: 40, par_umol_m2_s: 300 },
      attenuation_per_m: 3,
    });
    expect(parAtHeight(profile, 0)).toBeCloseTo(90.358, 3);
    expect(parAtHeight(profile, 20)).toBeCloseTo(300 * Math.exp(-0.6), 9);
  });

  const refused: [string, [number, number][], RegExp][] = [
    [
      'PAR that rises with depth',
      [
        [0, 300],
        [20, 100],
      ],
      /PAR at 20 cm is 100, allowed: more than the 300 at 0 cm.*depth/,
    ],
    [
      'PAR that stays the same',
      [
        [0, 100],
        [20, 100],
      ],
      /light falls with depth/,
    ],
    [
      'a dip in the middle',
      [
        [0, 50],
        [10, 200],
        [20, 150],
      ],
      /PAR at 20 cm is 150/,
    ],
    [
      'two values at one height',
      [
        [10, 50],
        [10, 60],
      ],
      /PAR values at 10 cm/,
    ],
    [
      'no light at all',
      [
        [0, 0],
        [10, 60],
      ],
      /PAR at 0 cm/,
    ],
    [
      'a height under the sand',
      [
        [-2, 10],
        [10, 60],
      ],
      /height above the sand bed/,
    ],
    ['a single place', [[10, 60]], /2 or more, or one and an attenuation/],
    [
      'a PAR that is no number',
      [
        [0, Number.NaN],
        [10, 60],
      ],
      /PAR at 0 cm/,
    ],
  ];
  it.each(refused)('%s is taken for a profile', (_, pairs, message) => {
    const profile = {
      kind: 'measured' as const,
      pairs: pairs.map(([height_cm, par_umol_m2_s]) => ({ height_cm, par_umol_m2_s })),
    };
    expect(() => checkedProfile(profile)).toThrow(message);
  });
});

describe('a light plan worked by hand', () => {
  // 1.8 to 14.4 mol/m² in 7 steps of 1.8: PAR 50, 100, … 400, at 10·log2(PAR/50) cm:
  // 0, 10, 15.85, 20, 23.22, 25.85, 28.07, 30.
  it('the rack stands too high on some day', () => {
    const plan = lightPlan(wish);
    expect(plan.days.map(({ day }) => day)).toEqual([1, 2, 3, 4, 5, 6, 7, 8]);
    expect(plan.days.map(({ height_cm }) => height_cm)).toEqual([0, 10, 16, 20, 23, 26, 28, 30]);
    for (const [index, { wanted_mol_m2 }] of plan.days.entries())
      expect(wanted_mol_m2).toBeCloseTo(1.8 * (index + 1), 9);
    expect(plan.days[1]!.dli_mol_m2).toBeCloseTo(3.6, 9);
    // The third day stands at 16 cm, where PAR is 50·2^1.6 = 151.57.
    expect(plan.days[2]!.par_umol_m2_s).toBeCloseTo(151.57, 2);
    expect(plan.days.at(-1)!.par_umol_m2_s).toBe(400);
  });

  // Ratio 8^(1/7): each day 30/7 = 4.29 cm higher: 0, 4.29, 8.57, 12.86, 17.14, 21.43, 25.71, 30.
  it('equal ratios do not climb by equal heights where light doubles evenly', () => {
    const plan = lightPlan({ ...wish, steps: 'equal_ratios' });
    expect(plan.days.map(({ height_cm }) => height_cm)).toEqual([0, 4, 9, 13, 17, 21, 26, 30]);
  });

  it('a target in daily light ends elsewhere than the same target in PAR', () => {
    const byDli = lightPlan({ ...wish, target: { dli_mol_m2: 7.2 } });
    expect(byDli).toEqual(lightPlan({ ...wish, target: { par_umol_m2_s: 200 } }));
    expect(byDli.days.at(-1)!.height_cm).toBe(20);
  });

  it('without a start it does not begin at the lowest place measured', () => {
    const { start: _, ...rest } = wish;
    expect(lightPlan(rest)).toEqual(lightPlan(wish));
  });

  it.each<[string, Partial<LightWish>, RegExp]>([
    ['a target brighter than any place', { target: { par_umol_m2_s: 500 } }, /PAR of the target.*500.*50 to 400/],
    ['a start dimmer than any place', { start: { par_umol_m2_s: 20 } }, /PAR of the start.*20.*50 to 400/],
    ['a target below the start', { start: { par_umol_m2_s: 300 }, target: { par_umol_m2_s: 200 } }, /above the start/],
    ['one day', { days: 1 }, /days of the plan/],
    ['half days', { days: 7.5 }, /a whole number/],
    ['a day of 30 hours', { day: { fullHours: 30 } }, /hours of full light/],
  ])('%s is planned', (_, change, message) => {
    expect(() => lightPlan({ ...wish, ...change })).toThrow(message);
  });

  it('a plan faster than corals settle goes unremarked', () => {
    expect(lightCautions(lightPlan(wish)).join(' ')).toContain('about 21 days');
    expect(lightCautions(lightPlan({ ...wish, days: 21 })).join(' ')).not.toContain('about 21 days');
  });
});

describe('a piece looks pale', () => {
  it('a hold moves the rack on, or forgets the target', () => {
    const held = relayLightPlan(lightPlan(wish), { kind: 'hold', day: 3, forDays: 2 });
    expect(held.days.map(({ height_cm }) => height_cm)).toEqual([0, 10, 16, 16, 16, 20, 23, 26, 28, 30]);
    expect(held.days.map(({ day }) => day)).toEqual([1, 2, 3, 4, 5, 6, 7, 8, 9, 10]);
  });

  it('a step back climbs faster afterwards than the first plan', () => {
    const back = relayLightPlan(lightPlan(wish), { kind: 'step_back', day: 5, byDays: 2, forDays: 3 });
    // Day 5 stood at 23 cm; it goes back to the 16 cm of day 3 for three days, then 20, 23, 26, 28, 30.
    expect(back.days.map(({ height_cm }) => height_cm)).toEqual([0, 10, 16, 20, 16, 16, 16, 20, 23, 26, 28, 30]);
  });

  it('a stored plan cannot be re-laid', () => {
    const plan = lightPlan({ ...wish, steps: 'equal_ratios' });
    const stored = JSON.parse(JSON.stringify(plan)) as typeof plan;
    const change = { kind: 'hold', day: 4, forDays: 1 } as const;
    expect(relayLightPlan(stored, change)).toEqual(relayLightPlan(plan, change));
    expect(relayLightPlan(stored, change).days).toHaveLength(9);
  });

  it.each([
    [{ kind: 'hold', day: 9, forDays: 1 }],
    [{ kind: 'hold', day: 3, forDays: 0 }],
    [{ kind: 'hold', day: 2.5, forDays: 1 }],
    [{ kind: 'step_back', day: 3, byDays: 3, forDays: 1 }],
    [{ kind: 'step_back', day: 1, byDays: 1, forDays: 1 }],
  ] as const)('%o is followed', (change) => {
    expect(() => relayLightPlan(lightPlan(wish), change)).toThrow(/day/);
  });
});

// Eightfold over 10 cm is 23 % for a centimetre, so that the nearest one misses 360 by up to 11 %; 400 lies on a place itself.
it('a plan whose last day misses its light by a tenth is given without a word', () => {
  const pairs = [
    { height_cm: 0, par_umol_m2_s: 50 },
    { height_cm: 10, par_umol_m2_s: 400 },
  ];
  const said = (par_umol_m2_s: number) =>
    lightCautions(lightPlan({ ...wish, profile: { kind: 'measured', pairs }, target: { par_umol_m2_s } })).join(' ');
  expect(said(360)).toContain('A centimetre makes more than 5 %');
  expect(said(400)).not.toContain('A centimetre');
  expect(said(400)).toContain('measure again');
});

it('places typed from the top down give another plan', () => {
  const turned = { ...doubling, pairs: doubling.pairs.toReversed() };
  expect(lightPlan({ ...wish, profile: turned })).toEqual(lightPlan(wish));
});

// PAR doubles over the first ten centimetres and quadruples over the next: no straight line in its logarithm.
describe('light that grows faster near the lamp', () => {
  const bent = checkedProfile({
    kind: 'measured',
    pairs: [
      { height_cm: 0, par_umol_m2_s: 50 },
      { height_cm: 10, par_umol_m2_s: 100 },
      { height_cm: 20, par_umol_m2_s: 400 },
    ],
  });

  // By hand: halfway it is the geometric mean: √(50 × 100) and √(100 × 400).
  it('is taken from other places than those on either side', () => {
    for (const [height, par] of [
      [0, 50],
      [5, Math.sqrt(5000)],
      [10, 100],
      [15, 200],
      [20, 400],
    ] as const) {
      expect(parAtHeight(bent, height)).toBeCloseTo(par, 9);
      expect(heightForPar(bent, par)).toBeCloseTo(height, 9);
    }
  });

  it('misses a place by the last digit of a float', () => {
    const places = checkedProfile({
      kind: 'measured',
      pairs: [
        { height_cm: 0, par_umol_m2_s: 30 },
        { height_cm: 10, par_umol_m2_s: 31 },
      ],
    });
    expect(parAtHeight(places, 10)).toBe(31);
    expect([heightForPar(bent, 400 * (1 + 1e-13)), heightForPar(bent, 50 * (1 - 1e-13))]).toEqual([20, 0]);
    for (const beyond of [400 * (1 + 1e-11), 50 * (1 - 1e-11)])
      expect(() => heightForPar(bent, beyond)).toThrow(/PAR wanted/);
  });

  it('is refused at the most that a sensor or water may show', () => {
    const sun = { kind: 'measured', pairs: [bent[0]!, { height_cm: 30, par_umol_m2_s: 5000 }] } as const;
    expect(checkedProfile(sun).at(-1)?.par_umol_m2_s).toBe(5000);
    const ink = { kind: 'attenuation', at: { height_cm: 10, par_umol_m2_s: 300 }, attenuation_per_m: 20 } as const;
    expect(checkedProfile(ink)[0]?.par_umol_m2_s).toBeCloseTo(300 * Math.exp(-2), 9);
  });
});

// Summed step by step, 371 µmol/m²/s over ten days end a float beside the target, and 200 over five would take a sixth day.
describe('the last day of a plan', () => {
  it('lies a float beside the target', () => {
    const plan = lightPlan({ ...wish, target: { par_umol_m2_s: 371 }, days: 10 });
    expect(plan.days.at(-1)?.wanted_mol_m2).toBe(plan.target_mol_m2);
  });

  it('comes a day late after a hold', () => {
    for (const [par_umol_m2_s, days] of [
      [200, 5],
      [371, 8],
      [400, 13],
    ] as const) {
      const plan = lightPlan({ ...wish, target: { par_umol_m2_s }, days, steps: 'equal_ratios' });
      const held = relayLightPlan(plan, { kind: 'hold', day: 3, forDays: 1 });
      expect(held.days).toHaveLength(days + 1);
      expect(held.days.at(-1)?.wanted_mol_m2).toBe(plan.target_mol_m2);
    }
  });

  // 400 µmol/m²/s for ten hours are 14.4 mol/m², here with a digit more than a keeper types.
  it('is refused for the last digits of the brightest place, or given past it', () => {
    const target = (dli_mol_m2: number) => lightPlan({ ...wish, target: { dli_mol_m2 } });
    expect(target(14.4 * (1 + 1e-10)).days.at(-1)).toMatchObject({ height_cm: 30, par_umol_m2_s: 400 });
    expect(() => target(14.4 * (1 + 1e-8))).toThrow(/PAR of the target/);
  });

  it('is told in words that are no sentence', () => {
    for (const caution of lightCautions(lightPlan(wish))) expect(caution).toMatch(/^[A-Z].*[.]$/);
  });
});
