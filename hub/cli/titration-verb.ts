import { type Command, Option } from 'commander';
import type { Tables } from '#adapters/ports/tables.ts';
import { defined } from '#rules/plain-data/defined.ts';
import { alkalinityFromSeawaterTitration } from '#rules/titration/seawater-titration.ts';
import type { TitrationPoint, TitrationRun } from '#rules/titration/titration-run.ts';
import { notNumber } from '../model/refusals/number-words.ts';
import { Refused } from '../model/refusals/refused.ts';
import { givenFrom, resultText } from '../reports/calc/calculation.ts';
import type { Terminal } from './terminal.ts';

type TitrationOptions = {
  sampleVolumeMl?: string;
  sampleMassG?: string;
  acidMolKg?: string;
  acidMolL?: string;
  acidDensityGMl?: string;
  salinity: string;
  temperature: string;
  cell: 'open' | 'closed';
  dic?: string;
  acidSdPercent?: string;
  sampleSdPercent?: string;
  slopeSdPercent?: string;
  readingStep?: string;
  co2LeftAtMost?: string;
  reading?: string;
};

/** The columns that can hold what the electrode showed, the first one found wins. */
const readingColumns = ['ph_reading', 'emf_mV', 'ph_reading_exact', 'ph_reading_noisy'] as const;

function number(text: string | undefined, flag: string): number | undefined {
  if (text === undefined) return undefined;
  const value = Number(text);
  if (text.trim() === '' || !Number.isFinite(value)) throw new Refused('wrong_usage', notNumber(`--${flag}`, text));
  return value;
}

function oneOf<Key extends string>(
  left: [Key, number | undefined],
  right: [Key, number | undefined],
  flags: string,
): Record<Key, number> {
  const given = [left, right].filter(([, value]) => value !== undefined);
  const [only] = given;
  if (given.length !== 1 || only === undefined) throw new Refused('wrong_usage', `need one of ${flags}`);
  return { [only[0]]: only[1] } as Record<Key, number>;
}

function cellOf(options: TitrationOptions): TitrationRun['cell'] {
  const dic = number(options.dic, 'dic');
  const co2LeftAtMost = number(options.co2LeftAtMost, 'co2-left-at-most');
  if (options.cell === 'open') {
    if (dic !== undefined) throw new Refused('wrong_usage', '--dic goes with --cell closed');
    return { kind: 'open', ...defined({ co2LeftAtMost }) };
  }
  if (co2LeftAtMost !== undefined) throw new Refused('wrong_usage', '--co2-left-at-most goes with --cell open');
  return { kind: 'closed', ...defined({ dic_umol_kg: dic }) };
}

async function pointsFrom(tables: Tables, terminal: Terminal, wished: string | undefined) {
  const table = await tables.read(terminal.input);
  const column = wished ?? readingColumns.find((name) => table.columns.includes(name));
  if (column === undefined || !table.columns.includes(column)) {
    throw new Refused(
      'wrong_usage',
      `found the columns ${table.columns.join(', ')}; need ${wished ?? 'ph_reading or emf_mV'}`,
    );
  }
  const points: TitrationPoint[] = [];
  for await (const { row, cells } of table.rows) {
    const given = givenFrom(cells);
    try {
      const acid_g = given.optionalNumber('acid_added_g');
      const acid_mL = given.optionalNumber('acid_added_mL');
      points.push({
        ...defined({ acid_g, acid_mL }),
        reading: given.number(column),
      });
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      throw new Refused('not_done', `row ${row}: ${error.message}`);
    }
  }
  return { points, signal: column.startsWith('emf') ? ('emf_mV' as const) : ('ph' as const) };
}

/** What the person says of the uncertainties; what is not said counts as exact, so that the points alone speak. */
function statedDoubts(options: TitrationOptions) {
  const share = (text: string | undefined, flag: string) => (number(text, flag) ?? 0) / 100;
  return {
    acidRelativeSd: share(options.acidSdPercent, 'acid-sd-percent'),
    sampleRelativeSd: share(options.sampleSdPercent, 'sample-sd-percent'),
    slopeRelativeSd: share(options.slopeSdPercent, 'slope-sd-percent'),
    readingResolution: number(options.readingStep, 'reading-step') ?? 0,
  };
}

async function titrate(options: TitrationOptions, tables: Tables, terminal: Terminal): Promise<void> {
  const sample = oneOf<'volume_mL' | 'mass_g'>(
    ['volume_mL', number(options.sampleVolumeMl, 'sample-volume-ml')],
    ['mass_g', number(options.sampleMassG, 'sample-mass-g')],
    '--sample-volume-ml, --sample-mass-g',
  ) as { volume_mL: number } | { mass_g: number };
  const acid = oneOf<'mol_kg' | 'mol_L'>(
    ['mol_kg', number(options.acidMolKg, 'acid-mol-kg')],
    ['mol_L', number(options.acidMolL, 'acid-mol-l')],
    '--acid-mol-kg, --acid-mol-l',
  ) as TitrationRun['acid'];
  const acidDensity_g_mL = number(options.acidDensityGMl, 'acid-density-g-ml');
  const cell = cellOf(options);
  const { points, signal } = await pointsFrom(tables, terminal, options.reading);
  const verdict = alkalinityFromSeawaterTitration({
    points,
    signal,
    sample,
    acid,
    cell,
    ...statedDoubts(options),
    ...defined({ acidDensity_g_mL }),
    salinity: number(options.salinity, 'salinity') ?? 0,
    temperature_C: number(options.temperature, 'temperature') ?? 0,
  });
  if (verdict.kind === 'no_answer') throw new Refused('no_answer', `no answer: ${verdict.why}`);
  const { electrode } = verdict;
  const found =
    electrode.signal === 'ph'
      ? { ph_offset: electrode.phOffset }
      : // As SOP 3b writes it, with the total hydrogen ion concentration; the other convention stands beside it.
        { e0_mV: electrode.e0Total_mV, e0_free_mV: electrode.e0Free_mV };
  const row = {
    total_alkalinity_umol_kg: verdict.totalAlkalinity_umol_kg,
    total_alkalinity_meq_l: verdict.totalAlkalinity_meq_l,
    total_alkalinity_dkh: verdict.totalAlkalinity_dkh,
    sd_umol_kg: verdict.sd_umol_kg,
    ...found,
    points_used: verdict.points_used,
    low95_umol_kg: verdict.totalAlkalinity_umol_kg - verdict.halfWidth95_umol_kg,
    high95_umol_kg: verdict.totalAlkalinity_umol_kg + verdict.halfWidth95_umol_kg,
  };
  await tables.write(terminal.output, tables.line(Object.keys(row)));
  await tables.write(terminal.output, tables.line(Object.values(row).map(resultText)));
  for (const assumption of verdict.assumptions) terminal.complain(assumption);
}

/** `brinekeep calc titration`: one run on standard input, one row out. */
export function addTitrationVerb(calc: Command, tables: Tables, terminal: Terminal): void {
  calc
    .command('titration')
    .description('total alkalinity of a sample from a titration with acid, read as CSV on standard input')
    .option('--sample-volume-ml <mL>', 'volume of the sample')
    .option('--sample-mass-g <g>', 'or its mass')
    .option('--acid-mol-kg <mol/kg>', 'strength of the acid')
    .option('--acid-mol-l <mol/L>', 'or by volume')
    .option('--acid-density-g-ml <g/mL>', 'of the acid; 1.0226 when left out (0.1 mol/kg in salt water)')
    .requiredOption('--salinity <number>', 'of the sample')
    .requiredOption('--temperature <°C>', 'of the sample')
    .addOption(
      new Option('--cell <kind>', 'open: CO2 driven off; closed: all of it kept')
        .choices(['open', 'closed'])
        .default('open'),
    )
    .option('--dic <µmol/kg>', 'closed cell: dissolved inorganic carbon of the sample; found by the fit when left out')
    .option('--acid-sd-percent <%>', 'standard uncertainty of the strength of the acid; 0 when left out')
    .option('--sample-sd-percent <%>', 'of the sample; 0 when left out')
    .option('--slope-sd-percent <%>', "of the electrode's slope: 1 after two buffers, 3 without; 0 when left out")
    .option('--reading-step <number>', 'last digit of the reading, in its unit')
    .option('--co2-left-at-most <share>', 'open cell: share of the CO2, 0 to 1, that may still be there')
    .option('--reading <column>', `column of the electrode; the first found of ${readingColumns.join(', ')}`)
    .option('--csv', 'always CSV')
    .action((options: TitrationOptions) => titrate(options, tables, terminal));
}
