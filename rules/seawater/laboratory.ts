import { isReferenceElement, type ReferenceElement, reference_mg_L } from './reference-composition.ts';

/** One line of a laboratory's table. `isBelow`: it found less than `value`, its limit. */
export type LaboratoryLine = { element: string; value_mg_L: number; isBelow?: boolean };

export type Compared = LaboratoryLine & {
  /** At the tank's salinity, mg/L; absent for what reference seawater has no number for. */
  reference_mg_L?: number;
  /** Share of the reference, 1 when the same. */
  ratio?: number;
  verdict: 'near' | 'off' | 'far' | 'not_compared';
  /** What an amount so far off usually comes from. */
  from?: string;
};

/** Laboratories agree within some per cent, salts within ten. common practice, no published source */
const nearWithin = 0.1;
const offWithin = 0.25;
/** So many elements off to one side by much the same are the salinity, not the elements. */
const fewestForSalinity = 4;
const salinitySpread = 0.04;

/** @source common practice, no published source */
const causes: Partial<Record<ReferenceElement, { high: string; low: string }>> = {
  Na: {
    high: 'soda or bicarbonate dosed for long',
    low: 'a salt or dosing poor in sodium; then chloride or calcium is high',
  },
  Cl: {
    high: 'calcium and magnesium chloride dosed for long',
    low: 'dosing without chloride; then sodium or sulfate is high',
  },
  Mg: { high: 'magnesium dosed, or a salt rich in it', low: 'used or precipitated, and not dosed' },
  Ca: { high: 'calcium dosed beyond the use, or a reactor', low: 'used by corals faster than dosed, or precipitated' },
  K: {
    high: 'potassium salts: nitrate, phosphate or iodide as such',
    low: 'used by corals and algae, or taken by zeolite',
  },
  Sr: { high: 'dosed, or a reactor’s media', low: 'laid down with calcium and not replaced' },
  SO4: { high: 'magnesium sulfate dosed for long', low: 'chlorides dosed for long, and few water changes' },
  S: { high: 'magnesium sulfate dosed for long', low: 'chlorides dosed for long, and few water changes' },
  Br: { high: 'a salt rich in it, or an additive', low: 'a salt poor in it' },
  B: { high: 'borate in a buffer or salt', low: 'a salt poor in it' },
  F: { high: 'an additive', low: 'bound by media that take phosphate, or laid down with chalk' },
};

/**
 * A laboratory's table beside reference seawater of the tank's salinity, what is furthest off first.
 *
 * @param salinity  practical, 5 to 42: the laboratory's own, or the tank's
 * @throws OutOfRange  outside these limits
 */
export function compareWithReference(lines: readonly LaboratoryLine[], salinity: number): Compared[] {
  const compared = lines.map((line): Compared => {
    if (!isReferenceElement(line.element)) return { ...line, verdict: 'not_compared' };
    const reference = reference_mg_L(line.element, salinity);
    const ratio = line.value_mg_L / reference;
    // Less than a limit that lies above the reference says nothing.
    if (line.isBelow === true && ratio >= 1 - nearWithin)
      return { ...line, reference_mg_L: reference, verdict: 'not_compared' };
    const away = awayFrom(ratio);
    const verdict = away <= nearWithin ? 'near' : away <= offWithin ? 'off' : 'far';
    const from = causes[line.element]?.[ratio > 1 ? 'high' : 'low'];
    return {
      ...line,
      reference_mg_L: reference,
      ratio,
      verdict,
      ...(verdict === 'near' || from === undefined ? {} : { from }),
    };
  });
  return compared.toSorted((one, other) => awayFrom(other.ratio) - awayFrom(one.ratio));
}

/** How far a ratio is from 1, the same up as down: 1.25 as 0.8. */
function awayFrom(ratio: number | undefined): number {
  if (ratio === undefined) return -1;
  return ratio <= 0 ? Number.POSITIVE_INFINITY : Math.max(ratio, 1 / ratio) - 1;
}

/**
 * The salinity at which the major elements would be those of the sea, where they are all off by much the same; undefined where they
 * are not, or are not off.
 */
export function salinityByElements(compared: readonly Compared[], salinity: number): number | undefined {
  const majors = compared.filter(
    ({ element, isBelow }) => isBelow !== true && ['Na', 'Cl', 'Mg', 'SO4', 'S', 'K', 'Ca'].includes(element),
  );
  const ratios = majors.flatMap(({ ratio }) => (ratio === undefined ? [] : [ratio]));
  if (ratios.length < fewestForSalinity) return undefined;
  const mean = ratios.reduce((sum, ratio) => sum + ratio, 0) / ratios.length;
  const isAlike = ratios.every((ratio) => Math.abs(ratio / mean - 1) <= salinitySpread);
  return isAlike && Math.abs(mean - 1) > salinitySpread ? salinity * mean : undefined;
}
