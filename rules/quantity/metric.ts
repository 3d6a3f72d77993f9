import { ofEachAnalyte, testedAnalytes } from './analyte-table.ts';

/** The metrics that Brinekeep knows, in the order in which people list them: the probes first, then the tests. */
export const metrics = [
  'temperature',
  'ph',
  'conductivity',
  'specific_conductance_25',
  'salinity',
  'specific_gravity',
  ...testedAnalytes,
  'orp',
  'level',
  'par',
  'pco2',
  'aragonite_saturation',
  'room_co2',
] as const;

export type Metric = (typeof metrics)[number];

/** What a person can test by hand and enter: the analytes of titrations and colorimeters, and the spot checks. */
export const analytes = [
  ...testedAnalytes,
  'salinity',
  'ph',
  'temperature',
  'room_co2',
] as const satisfies readonly Metric[];

export type Analyte = (typeof analytes)[number];

export type MetricFacts = {
  /** How a person reads it, in a sentence or as a heading. */
  label: string;
  /** The one unit in which the store keeps it; empty for a pure number. */
  unit: string;
  /** Decimals that mean something on a screen or a phone line. */
  decimals: number;
};

export const metricFacts: Record<Metric, MetricFacts> = {
  temperature: { label: 'Temperature', unit: '°C', decimals: 2 },
  ph: { label: 'pH', unit: '', decimals: 2 },
  conductivity: { label: 'Conductivity', unit: 'mS/cm', decimals: 2 },
  specific_conductance_25: { label: 'Specific conductance at 25 °C', unit: 'mS/cm', decimals: 2 },
  salinity: { label: 'Salinity', unit: '', decimals: 2 },
  specific_gravity: { label: 'Specific gravity', unit: '', decimals: 4 },
  ...ofEachAnalyte(({ label, unit, decimals }) => ({ label, unit, decimals })),
  orp: { label: 'ORP', unit: 'mV', decimals: 0 },
  level: { label: 'Level', unit: 'mm', decimals: 0 },
  par: { label: 'PAR', unit: 'µmol/m²/s', decimals: 0 },
  pco2: { label: 'pCO2', unit: 'µatm', decimals: 0 },
  aragonite_saturation: { label: 'Aragonite saturation', unit: '', decimals: 2 },
  room_co2: { label: 'Room CO2', unit: 'ppm', decimals: 0 },
};

/** What a test can read at all, in the store unit: beyond it the unit or a digit is wrong. common practice, no published source */
export const testRange: Record<Analyte, readonly [low: number, high: number]> = {
  ...ofEachAnalyte(({ testRange }) => testRange),
  salinity: [0, 60],
  ph: [4, 11],
  temperature: [-2, 45],
  room_co2: [200, 20_000],
};

/** The unit of each metric as the end of a column's name, in the spelling of the tables that the hub reads. */
export const unitEnding: Record<Metric, string> = {
  temperature: '_C',
  ph: '',
  conductivity: '_mS_cm',
  specific_conductance_25: '_mS_cm',
  salinity: '',
  specific_gravity: '',
  ...ofEachAnalyte(({ unitEnding }) => unitEnding),
  orp: '_mV',
  level: '_mm',
  par: '_umol_m2_s',
  pco2: '_uatm',
  aragonite_saturation: '',
  room_co2: '_ppm',
};

/** True for a text that names a metric. */
export function isMetric(text: string): text is Metric {
  return Object.hasOwn(metricFacts, text);
}

/** True for a text that names an analyte a person can test. */
export function isAnalyte(text: string): text is Analyte {
  return (analytes as readonly string[]).includes(text);
}
