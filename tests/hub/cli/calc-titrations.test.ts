import { expect, test } from 'vitest';
import { plainCells, referenceTable, verbHere } from './verb-here.ts';

async function answer(...args: string[]): Promise<Record<string, number | string>> {
  const { code, out, err } = await verbHere(['calc', ...args, '--json']);
  expect({ code, err }).toEqual({ code: 0, err: '' });
  return JSON.parse(out) as Record<string, number | string>;
}

const rowsOf = (table: string) => {
  const [header = [], ...rows] = plainCells(referenceTable(table));
  return rows.map((row) => (name: string) => row[header.indexOf(name)] ?? '');
};

// Sources of the tables: fixtures/reference/README.md.
test('calcium or magnesium by EDTA is computed other than in the reference table', async () => {
  for (const row of rowsOf('calcium-magnesium-titrations')) {
    const inputs = ['sample_volume_mL', 'predilution_factor', 'edta_mol_L'];
    const volumes = ['edta_volume_calcium_mL', 'edta_volume_total_hardness_mL'];
    const flags = [...inputs, ...volumes].flatMap((name) => [`--${name}`, row(name)]);
    const found = await answer('hardness', ...flags, '--volume_sd_mL', '0.02');
    expect(found['calcium_mg_L']).toBeCloseTo(Number(row('calcium_mg_L')), 3);
    expect(found['magnesium_mg_L_by_difference']).toBeCloseTo(Number(row('magnesium_mg_L_by_difference')), 3);
    expect(found['calcium_sd_mg_L']).toBeGreaterThan(0);
    const hardness = 'total_hardness_mg_L_as_CaCO3';
    expect(found[hardness]).toBeCloseTo(Number(row(hardness)), 3);
    expect(found['total_hardness_mmol_L']).toBeCloseTo(Number(row('total_hardness_mmol_L')), 3);
  }
});

test('an alkalinity titration to pH 4.5 keeps the error of counting all acid', async () => {
  for (const row of rowsOf('titration-endpoints').filter((row) => row('cell') === 'closed')) {
    const acid_g = Number(row('acid_to_ph_nbs_4.5_mL')) * Number(row('acid_density_g_mL'));
    const names = ['salinity', 'temperature_C', 'acid_concentration_mol_kg', 'cell', 'sample_dic_umol_kg'];
    const flags = names.flatMap((name) => [`--${name}`, row(name)]);
    const own = ['--sample_volume_mL', row('sample_volume_mL'), '--acid_g', String(acid_g), '--end_ph_nbs', '4.5'];
    const found = await answer('fixed-end-point', ...flags, ...own);
    const truth = Number(row('true_total_alkalinity_umol_kg'));
    expect(Math.abs(Number(found['total_alkalinity_umol_kg']) - truth)).toBeLessThan(1);
    const apparent = Number(row('apparent_ta_at_ph_nbs_4.5_umol_kg'));
    expect(Math.abs(Number(found['apparent_ta_umol_kg']) - apparent)).toBeLessThan(1);
    expect(found['equivalence_ph_nbs']).toBeCloseTo(Number(row('equivalence_ph_nbs')), 2);
  }
});

test('a hydrometer is read as if the water had the temperature of its scale', async () => {
  // A body that does not expand, in water of its scale's temperature: the specific gravity of the reference table.
  const row = rowsOf('seawater-density').find(
    (each) => each('practical_salinity') === '35' && each('temperature_C') === '25',
  );
  const reading = row?.('sg_25_25') ?? '';
  const flags = ['--reading', reading, '--temperature_C', '25', '--expansion_per_C', '0'];
  expect((await answer('hydrometer', ...flags))['practical_salinity']).toBeCloseTo(35, 3);
  const { code, err } = await verbHere([
    'calc',
    'hydrometer',
    '--reading',
    '1.026',
    '--temperature_C',
    '25',
    '--scale',
    '4/4',
  ]);
  expect({ code, err }).toMatchObject({ code: 1, err: expect.stringContaining('allowed: 20/20, 25/25, 60F/60F') });
});

test('a drop test is given a figure without its uncertainty, or counts one drop as sure', async () => {
  // Ten drops of one dKH each, read to the drop: a rectangle of one step, 1/√12 (JCGM 100:2008, F.2.2.1).
  const found = await answer('end-point', '--amount', '10', '--resolution', '1', '--factor', '1');
  expect(found['result']).toBe(10);
  expect(found['result_sd']).toBeCloseTo(1 / Math.sqrt(12), 9);
  expect(found['largest_source']).toBe('resolution');
});

test('the saturation is shown as certain though the pH is not', async () => {
  const water = [
    '--salinity',
    '35',
    '--temperature_C',
    '25',
    '--total_alkalinity_umol_kg',
    '2300',
    '--ph_total',
    '8.0',
  ];
  const sure = await answer('carbonate-uncertainty', ...water, '--ph_sd', '0.001', '--constants', 'exact');
  const unsure = await answer('carbonate-uncertainty', ...water, '--ph_sd', '0.1', '--constants', 'exact');
  expect(unsure['pco2_largest_source']).toBe('phTotal');
  expect(Number(unsure['omega_aragonite_sd'])).toBeGreaterThan(3 * Number(sure['omega_aragonite_sd']));
  expect(unsure['omega_aragonite']).toBe(sure['omega_aragonite']);
});

test('a reading of an NBS electrode is taken for a pH on the total scale, or as sure as one', async () => {
  // fixtures/reference/ph-scales.csv: PyCO2SYS 1.8.3.4.
  const row = rowsOf('ph-scales')[0]!;
  const water = ['salinity', 'temperature_C'].flatMap((name) => [`--${name}`, row(name)]);
  const rest = [...water, '--total_alkalinity_umol_kg', '2300', '--ph_sd', '0.01', '--constants', 'exact'];
  const total = await answer('carbonate-uncertainty', ...rest, '--ph_total', row('ph_total'));
  const nbs = await answer('carbonate-uncertainty', ...rest, '--ph_nbs', row('ph_nbs'));
  expect(Number(nbs['pco2_uatm']) / Number(total['pco2_uatm'])).toBeCloseTo(1, 4);
  // 0.01 joined by 0.05/√3 of the liquid junction is three times as much (JCGM 100:2008, 5.1.2).
  expect(Number(nbs['pco2_sd_uatm'])).toBeGreaterThan(1.5 * Number(total['pco2_sd_uatm']));
});

test('a tank is brought to its salinity in a day that is too much for its animals', async () => {
  // By hand: 33 to 34.4 at 0.5 a day are three days; 420 L × 38.5 g/L × 1.4/35 = 646.8 g, a third of it on each.
  const water = ['--volume_l', '420', '--salinity_now', '33', '--salinity_target', '34.4'];
  const found = await answer('mix', ...water, '--grams_per_litre_at_35', '38.5', '--most_per_day', '0.5');
  expect(found).toMatchObject({ days: 3, first_day_volume_change_l: 0 });
  expect(found['salt_g']).toBeCloseTo(646.8, 6);
  expect(found['first_day_salt_g']).toBeCloseTo(215.6, 6);
});

test('four points between pH 3 and 4 are refused, or answered as surely as all of them', async () => {
  const header = rowsOf('alkalinity-titrations').find((row) => row('titration_id').startsWith('S04'))!;
  const truth = Number(header('true_total_alkalinity_umol_kg'));
  const rows = rowsOf('alkalinity-titration-sim04').map(
    (row) => [row('acid_added_g'), row('ph_reading_noisy')] as const,
  );
  const between = rows.filter(([, ph]) => Number(ph) > 3.15 && Number(ph) < 4.05);
  const fitted = async (points: typeof rows, ...more: string[]) => {
    const flags = ['--sample-mass-g', header('sample_mass_g'), '--acid-mol-kg', header('acid_concentration_mol_kg')];
    const water = ['--salinity', header('salinity'), '--temperature', header('sample_temperature_C')];
    const csv = `acid_added_g,ph_reading\n${points.map((point) => point.join(',')).join('\n')}\n`;
    const { code, out, err } = await verbHere(['calc', 'titration', ...flags, ...water, ...more], csv);
    expect({ code, err }).toEqual({ code: 0, err: '' });
    const [names = [], values = []] = plainCells(out);
    const of = (name: string) => Number(values[names.indexOf(name)]);
    const [low, high] = [of('low95_umol_kg'), of('high95_umol_kg')];
    return { low, high, width: high - low, points: of('points_used') };
  };
  const step = Math.floor((between.length - 1) / 3);
  const four = await fitted([0, 1, 2, 3].map((at) => between[at * step]!));
  const all = await fitted(rows);
  expect(four.points).toBe(4);
  expect(four.low).toBeLessThan(truth);
  expect(four.high).toBeGreaterThan(truth);
  expect(four.width).toBeGreaterThan(1.5 * all.width);
  // JCGM 100, G.2: 1.96 times 0.5 % on both sides at least.
  const doubted = await fitted(rows, '--acid-sd-percent', '0.5', '--slope-sd-percent', '1', '--reading-step', '0.01');
  expect(doubted.width).toBeGreaterThan(2 * 1.96 * 0.005 * truth);
  const left = await fitted(rows, '--co2-left-at-most', '1');
  expect(left.low + left.high).toBeGreaterThan(all.low + all.high);
});
