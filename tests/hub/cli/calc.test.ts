import { describe, expect, test } from 'vitest';
import { plainCells, referenceTable, verbHere } from './verb-here.ts';

type Tolerance = { absolute: number } | { relative: number };

/** Sources of the tables and their tolerances: fixtures/reference/README.md. */
const tables: { what: string; table: string; results: Record<string, Tolerance> }[] = [
  {
    what: 'salinity',
    table: 'seawater-practical-salinity',
    results: { practical_salinity: { absolute: 1e-8 } },
  },
  {
    what: 'density',
    table: 'seawater-density',
    results: {
      density_eos80_kg_m3: { absolute: 1e-6 },
      sg_same_temperature: { absolute: 1e-8 },
      sg_20_20: { absolute: 1e-8 },
      sg_25_25: { absolute: 1e-8 },
      sg_60F_60F: { absolute: 1e-8 },
    },
  },
  {
    what: 'carbonate',
    table: 'carbonate-system',
    results: {
      dic_umol_kg: { relative: 1e-5 },
      pco2_uatm: { relative: 1e-5 },
      co2_umol_kg: { relative: 1e-5 },
      hco3_umol_kg: { relative: 1e-5 },
      co3_umol_kg: { relative: 1e-5 },
      omega_aragonite: { relative: 1e-5 },
      omega_aragonite_measured_calcium: { relative: 1e-5 },
    },
  },
  {
    what: 'dose-effect',
    table: 'carbonate-dosing',
    results: {
      end_ph_total: { absolute: 1e-4 },
      end_pco2_uatm: { relative: 5e-4 },
      end_omega_aragonite: { relative: 5e-4 },
    },
  },
];

/** The reference has the same names as the results: its columns come first, the results last, then `error`. */
function compare(out: string, reference: string[][], results: Record<string, Tolerance>): void {
  const [header = [], ...rows] = plainCells(out);
  const [given = [], ...wanted] = reference;
  const names = Object.keys(results);
  expect(header).toEqual([...given, ...header.slice(given.length)]);
  expect(header.at(-1)).toBe('error');
  expect(header.slice(given.length, -1)).toEqual(names);
  expect(rows).toHaveLength(wanted.length);
  for (const [index, row] of rows.entries()) {
    expect(row.slice(0, given.length)).toEqual(wanted[index]);
    expect(row.at(-1)).toBe('');
    for (const [place, name] of names.entries()) {
      const right = wanted[index]?.[given.indexOf(name)];
      // An empty cell means "not applicable".
      if (right === '' || right === undefined) continue;
      const found = Number(row[given.length + place]);
      const tolerance = results[name] as Tolerance;
      const most = 'absolute' in tolerance ? tolerance.absolute : tolerance.relative * Math.abs(Number(right));
      expect(Math.abs(found - Number(right)), `row ${index + 2} ${name}: ${found} for ${right}`).toBeLessThanOrEqual(
        most,
      );
    }
  }
}

describe('calc over whole tables', () => {
  test.each(tables)('$what of a published table comes out wrong', async ({ what, table, results }) => {
    const text = referenceTable(table);
    const { code, out, err } = await verbHere(['calc', what, '--csv'], text);
    expect({ code, err }).toEqual({ code: 0, err: '' });
    compare(out, plainCells(text), results);
  });

  test.each(tables)('one bad row ends $what, or passes for an answer', async ({ what, table, results }) => {
    const [header = [], ...rows] = plainCells(referenceTable(table));
    const few = rows.slice(0, 5);
    const column = header.includes('temperature_C') ? header.indexOf('temperature_C') : 0;
    const bad = ['warm', '', '1e9', 'NaN', '25 °C', '-300'].map((cell) => {
      const row = [...(few[0] ?? [])];
      row[column] = cell;
      return row;
    });
    const input = [header, few[0], ...bad, ...few.slice(1)].map((cells) => cells?.join(',')).join('\n');
    const { code, out, err } = await verbHere(['calc', what, '--csv'], `${input}\n`);
    expect(code).toBe(1);
    expect(err).not.toMatch(/\bat .*:\d+:\d+/);
    const lines = out.trimEnd().split(/\r?\n/);
    expect(lines).toHaveLength(1 + few.length + bad.length);
    const results0 = ','.repeat(Object.keys(results).length);
    for (const line of lines.slice(2, 2 + bad.length)) {
      // Results empty, then the reason.
      expect(line).toMatch(new RegExp(`${results0},.+$`));
      expect(line.split(',').at(-1)).not.toBe('');
    }
    const good = [lines[0], lines[1], ...lines.slice(2 + bad.length)].join('\n');
    compare(good, [header, ...few], results);
  });

  test('a short row, a long row and an empty table end the run with a stack trace', async () => {
    const text = 'conductivity_mS_cm,temperature_C\n53.0\n53.0,25,7\n,\n53.0,25\n';
    const { code, out } = await verbHere(['calc', 'salinity', '--csv'], text);
    expect(code).toBe(1);
    const rows = out.trimEnd().split(/\r?\n/).slice(1);
    expect(rows).toHaveLength(4);
    expect(rows.slice(0, 3).every((row) => !row.endsWith(','))).toBe(true);
    expect(rows[3]).toMatch(/^53\.0,25,34\.\d+,$/);
    const empty = await verbHere(['calc', 'salinity', '--csv'], '');
    expect(empty.code).toBeGreaterThan(0);
    expect(empty.err).not.toMatch(/\bat .*:\d+:\d+/);
  });

  test('one case from flags answers other than the table', async () => {
    const one = ['calc', 'salinity', '--conductivity_mS_cm', '42.914', '--temperature_C', '15', '--json'];
    const { code, out } = await verbHere(one);
    expect(code).toBe(0);
    // S = 35 at 15 °C (IPTS-68) and 42.914 mS/cm: UNESCO 44; ITS-90 moves the fourth decimal.
    expect((JSON.parse(out) as { practical_salinity: number }).practical_salinity).toBeCloseTo(35, 1);
    expect((await verbHere(['calc', 'salinity', '--temperature_C', '15'])).code).toBe(1);
    expect((await verbHere(['calc', 'alchemy'])).code).toBe(2);
  });
});

describe('a conductivity in µS/cm', () => {
  const asked = 'found 53070, need mS/cm: no water has so much. Is it in µS/cm? Then write 53.07.';
  const flags: [string, string[]][] = [
    ['conductivity_mS_cm', []],
    ['displayed_conductivity_mS_cm', ['--alpha_percent_per_C', '2']],
  ];

  test.each(flags)('is answered as if a salinity were wrong: --%s', async (name, more) => {
    const { code, out, err } = await verbHere([
      ...['calc', 'salinity', `--${name}`, '53070', '--temperature_C', '25', ...more],
    ]);
    expect({ code, out }).toEqual({ code: 1, out: '' });
    expect(err).toContain(`${name}: ${asked}`);
    expect(err).not.toContain('practical salinity is');
    const meant = await verbHere([
      ...['calc', 'salinity', `--${name}`, '53.07', '--temperature_C', '25', '--json', ...more],
    ]);
    // S = 35 has 53.06 mS/cm at 25 °C: UNESCO 44.
    expect((JSON.parse(meant.out) as { practical_salinity: number }).practical_salinity).toBeCloseTo(35, 1);
  });

  test('is asked about in the row of a table, and the other rows are answered', async () => {
    const text = 'conductivity_mS_cm,temperature_C\n53070,25\n53.07,25\n';
    const { code, out } = await verbHere(['calc', 'salinity', '--csv'], text);
    expect(code).toBe(1);
    expect(out).toContain(asked);
    expect(out).toMatch(/53\.07,25,3\d\.\d+,/);
  });

  test('of water with too much salt is no question of units', async () => {
    const { code, err } = await verbHere(['calc', 'salinity', '--conductivity_mS_cm', '120', '--temperature_C', '25']);
    expect(code).toBe(1);
    expect(err).toContain('practical salinity is');
    expect(err).not.toContain('µS/cm');
  });
});

describe('calc titration', () => {
  // Conditions: row SOP3b of fixtures/reference/alkalinity-titrations.csv; Dickson, Sabine & Christian 2007, SOP 3b.
  const sop3b = [
    ...['calc', 'titration', '--csv', '--sample-mass-g', '140.32', '--acid-mol-kg', '0.10046'],
    ...['--salinity', '33.923', '--temperature', '24.25'],
  ];

  test('the worked example of SOP 3b comes out wrong', async () => {
    const { code, out } = await verbHere(sop3b, referenceTable('alkalinity-titration-sop3b'));
    expect(code).toBe(0);
    const [header = [], row = []] = plainCells(out);
    const found = Object.fromEntries(header.map((name, index) => [name, Number(row[index])]));
    // Published: 2260.06 µmol/kg and E0 394.401 mV, on the total scale.
    expect(Math.abs((found['total_alkalinity_umol_kg'] ?? 0) - 2260.06)).toBeLessThanOrEqual(1);
    expect(Math.abs((found['e0_mV'] ?? 0) - 394.401)).toBeLessThanOrEqual(0.1);
    expect(found['points_used']).toBeGreaterThanOrEqual(5);
    expect(found['sd_umol_kg']).toBeGreaterThan(0);
  });

  test('a run that cannot give an answer gives one', async () => {
    const [header, ...points] = referenceTable('alkalinity-titration-sop3b').trimEnd().split('\n');
    const few = await verbHere(sop3b, [header, ...points.slice(0, 2)].join('\n'));
    expect(few).toMatchObject({ code: 1, out: '' });
    expect(few.err).toMatch(/\S/);
    const typo = await verbHere(
      sop3b,
      [header, ...points.slice(0, 5), '3.75,x,24.25,1o1,,,,', ...points.slice(6)].join('\n'),
    );
    expect(typo.code).toBe(1);
    expect(typo.err).toContain('row 7');
    const noSample = sop3b.filter((arg) => !['--sample-mass-g', '140.32'].includes(arg));
    expect((await verbHere(noSample, referenceTable('alkalinity-titration-sop3b'))).code).toBe(2);
  });
});
