import {
  type Compared,
  compareWithReference,
  type LaboratoryLine,
  salinityByElements,
} from '#rules/seawater/laboratory.ts';

export type LaboratoryRow = { element: string; value: number | string; unit: string };

export type LaboratoryAnswer = {
  salinityByElements: number | undefined;
  lines: Compared[];
  notUnderstood: string[];
  text: string;
};

/** English names of what laboratories list; a symbol stands for itself. */
const names: Record<string, string> = {
  sodium: 'Na',
  magnesium: 'Mg',
  calcium: 'Ca',
  potassium: 'K',
  strontium: 'Sr',
  chloride: 'Cl',
  chlorine: 'Cl',
  sulfate: 'SO4',
  sulphate: 'SO4',
  sulfur: 'S',
  sulphur: 'S',
  bromide: 'Br',
  bromine: 'Br',
  fluoride: 'F',
  fluorine: 'F',
  boron: 'B',
};

const toMgPerL: Record<string, number> = { 'mg/l': 1, ppm: 1, 'g/l': 1000, 'µg/l': 0.001, 'ug/l': 0.001, ppb: 0.001 };

function elementOf(text: string): string {
  const plain = text.trim().replaceAll(/[\u00b2\u2082\u2074\u2084\u207b\u207a+-]+$/g, '');
  return names[plain.toLowerCase()] ?? (plain.length <= 3 ? plain.charAt(0).toUpperCase() + plain.slice(1) : plain);
}

function lineOf({ element, value, unit }: LaboratoryRow): LaboratoryLine | string {
  const factor = toMgPerL[unit.trim().toLowerCase().replace('μ', 'µ')];
  if (factor === undefined) return `${element}: unit "${unit}", need mg/L, µg/L, g/L, ppm or ppb`;
  const text = String(value).trim();
  const isBelow = text.startsWith('<');
  const number = Number(text.replace(/^<\s*/, '').replace(',', '.'));
  if (!Number.isFinite(number) || number < 0 || text === '' || text === '<')
    return `${element}: value "${text}", need a number of 0 or more, or "<" and a limit`;
  return { element: elementOf(element), value_mg_L: number * factor, ...(isBelow ? { isBelow } : {}) };
}

/** A laboratory's rows beside reference seawater. @throws OutOfRange for a salinity outside 5 to 42 */
export function compareTable(rows: readonly LaboratoryRow[], salinity: number): LaboratoryAnswer {
  const read = rows.map(lineOf);
  const lines = compareWithReference(
    read.filter((line) => typeof line !== 'string'),
    salinity,
  );
  const bySalinity = salinityByElements(lines, salinity);
  return {
    lines,
    salinityByElements: bySalinity,
    text: textOf(lines, salinity, bySalinity),
    notUnderstood: read.filter((line) => typeof line === 'string'),
  };
}

function textOf(lines: readonly Compared[], salinity: number, bySalinity: number | undefined): string {
  if (bySalinity !== undefined)
    return `All major elements are off by much the same: they fit a salinity of ${bySalinity.toFixed(1)}, not ${salinity.toFixed(1)}. Check the salinity first.`;
  const off = lines.filter(({ verdict }) => verdict === 'far' || verdict === 'off');
  if (lines.every(({ ratio }) => ratio === undefined)) return 'Nothing in this table can be compared with the sea.';
  if (off.length === 0) return `All that can be compared is within 10 % of the sea at salinity ${salinity.toFixed(1)}.`;
  return `At salinity ${salinity.toFixed(1)}: ${off.map(wordsOf).join('; ')}.`;
}

function wordsOf({ element, ratio = 1, from }: Compared): string {
  const percent = Math.round(100 * Math.abs(ratio - 1));
  return `${element} ${percent} % ${ratio > 1 ? 'high' : 'low'}${from === undefined ? '' : ` (${from})`}`;
}
