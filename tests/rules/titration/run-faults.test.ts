import { describe, expect, it } from 'vitest';
import { alkalinityFromTitration } from '#rules/titration/alkalinity-from-titration.ts';
import { alkalinityFromSeawaterTitration } from '#rules/titration/seawater-titration.ts';
import type { TitrationPoint, TitrationRun } from '#rules/titration/titration-run.ts';
import { referenceTitrations, statedRun } from './reference-titration.ts';

const header = (id: string) => referenceTitrations.find((row) => row.text('titration_id') === id)!;
const closed = statedRun(header('S01'), 'ph_reading_exact');
const closedEmf = statedRun(header('S01'), 'emf_mV');
const open = statedRun(header('S04'), 'ph_reading_exact');

function faultOf(run: TitrationRun): string {
  const verdict = alkalinityFromTitration(run);
  if (verdict.kind === 'answer') return `answer ${verdict.totalAlkalinity_umol_kg}`;
  expect(verdict.why.length).toBeGreaterThan(20);
  return verdict.fault;
}

const withPoints = (
  run: TitrationRun,
  change: (point: TitrationPoint, index: number) => TitrationPoint,
): TitrationRun => ({
  ...run,
  points: run.points.map(change),
});

describe('a run that carries no answer', () => {
  it('is not answered from three points', () => {
    expect(faultOf({ ...open, points: open.points.slice(0, 3) })).toBe('too_few_points');
  });

  it('is not answered when it stopped before the acid was in excess', () => {
    const early = { ...closed, points: closed.points.slice(0, 26) };
    expect(faultOf(early)).toBe('too_few_points_in_range');
    expect(faultOf({ ...early, cell: { kind: 'closed' } })).toBe('too_few_points_in_range');
  });

  it.each([22, 24, 25, 26, 27])(
    'is not answered from the first %i points, in millivolts, where E0 cannot be known',
    (count) => {
      expect(faultOf({ ...closedEmf, points: closedEmf.points.slice(0, count) })).not.toMatch(/^answer/);
    },
  );

  it('is not asked for the inorganic carbon when its buffered part was not recorded', () => {
    expect(faultOf({ ...open, cell: { kind: 'closed' } })).toBe('too_few_points_in_range');
  });

  it('takes no millivolts for pH', () => {
    expect(faultOf({ ...closedEmf, signal: 'ph' })).toBe('looks_like_millivolts');
  });

  it('takes no pH for millivolts', () => {
    expect(faultOf({ ...closed, signal: 'emf_mV' })).toBe('looks_like_ph');
  });

  it('asks for the running total when each addition was written down', () => {
    expect(faultOf(withPoints(closed, (point) => ({ ...point, acid_g: 0.1 })))).toBe('acid_not_a_running_total');
  });

  it('sees a slip of the pen in one reading', () => {
    const slip = withPoints(closed, (point, index) =>
      index === 30 ? { ...point, reading: point.reading + 0.3 } : point,
    );
    expect(faultOf(slip)).toBe('not_monotonic');
  });

  it('sees an electrode whose sign is turned', () => {
    const turned = withPoints(closedEmf, (point) => ({ ...point, reading: -point.reading }));
    expect(faultOf(turned)).toBe('electrode_goes_the_wrong_way');
  });

  it('sees that a column of volumes and one of weights do not belong together', () => {
    const litres = withPoints(closed, (point) => ({ ...point, acid_mL: point.acid_g! / 1000 }));
    expect(faultOf(litres)).toBe('mass_and_volume_disagree');
  });

  it.each([
    ['ten times too strong an acid', { acid: { mol_kg: 1 } }],
    ['a tenth of the acid', { acid: { mol_kg: 0.01 } }],
    ['a tenth of the sample', { sample: { mass_g: 10 } }],
  ] as [string, Partial<TitrationRun>][])('does not believe %s', (_, change) => {
    expect(faultOf({ ...open, ...change })).not.toMatch(/^answer/);
    expect(faultOf({ ...closed, ...change })).not.toMatch(/^answer/);
  });

  it('says that no amount of acid stands beside a reading', () => {
    expect(faultOf(withPoints(open, ({ reading }) => ({ reading })))).toBe('acid_amount_missing');
  });

  it('refuses numbers that are none, and a sample of no mass', () => {
    expect(faultOf(withPoints(open, (point) => ({ ...point, reading: Number.NaN })))).toBe('bad_input');
    expect(faultOf({ ...open, sample: { mass_g: 0 } })).toBe('bad_input');
    expect(faultOf({ ...closed, cell: { kind: 'closed', dic_umol_kg: -5 } })).toBe('bad_input');
  });

  it('refuses a salinity for which there are no constants', () => {
    const { chemistry: _, sampleDensity_g_mL: __, ...run } = open;
    expect(alkalinityFromSeawaterTitration({ ...run, salinity: 5 })).toMatchObject({ fault: 'bad_input' });
  });

  it('does not believe readings that no alkalinity explains', () => {
    const jumpy = withPoints(open, (point, index) => ({
      ...point,
      reading: point.reading + (index % 4 < 2 ? 0.1 : 0),
    }));
    expect(faultOf(jumpy)).toMatch(/not_monotonic|poor_fit/);
    // The electrode steps down in the middle of the range, so the readings stay in order.
    const shifted = withPoints(open, (point, index) => ({ ...point, reading: point.reading - (index > 12 ? 0.4 : 0) }));
    expect(faultOf(shifted)).toMatch(/poor_fit|implausible/);
  });

  it('says so when the density of the acid was taken for granted', () => {
    const byVolume = withPoints(open, ({ acid_g, reading }) => ({ acid_mL: acid_g! / 1.0226, reading }));
    const verdict = alkalinityFromTitration(byVolume);
    expect(verdict).toMatchObject({ kind: 'answer', assumptions: [expect.stringContaining('acid density')] });
    expect(alkalinityFromTitration({ ...byVolume, acidDensity_g_mL: 1.0226 })).toMatchObject({ assumptions: [] });
  });
});
