/** Numbers as the review says them. Used by the hub and by the page. */

/** A share as a percentage, rounded down: 99.96 % is not all. */
export function percentWords(share: number, decimals = 1): string {
  if (share >= 1) return '100 %';
  const factor = 10 ** decimals;
  // A billionth against the binary fraction that makes 98 % of 97.99999.
  return `${Math.floor(share * 100 * factor + 1e-9) / factor} %`;
}

/** A value in its unit. */
export function amountWords(value: number, unit: string, decimals: number): string {
  return `${plain(value, decimals)}${unit === '' ? '' : ` ${unit}`}`;
}

/** With its sign, a real minus included. */
export function signedWords(value: number, decimals: number): string {
  const text = plain(value, decimals);
  return Number(text.replace('−', '-')) > 0 ? `+${text}` : text;
}

export function plain(value: number, decimals: number): string {
  const text = value.toFixed(decimals);
  return Number(text) === 0 ? text.replace('-', '') : text.replace('-', '−');
}

/** 45 min, 3 h 20 min, 2 d 4 h. */
export function lengthWords(ms: number): string {
  const minutes = Math.round(ms / 60_000);
  if (minutes < 60) return `${minutes} min`;
  const hours = Math.floor(minutes / 60);
  if (hours < 48) return minutes % 60 === 0 ? `${hours} h` : `${hours} h ${minutes % 60} min`;
  return hours % 24 === 0 ? `${hours / 24} d` : `${Math.floor(hours / 24)} d ${hours % 24} h`;
}

export function countWords(count: number, noun: string): string {
  return `${count} ${noun}${count === 1 ? '' : 's'}`;
}

export function bandWords(band: { low: number; high: number }, unit: string): string {
  return `${band.low} to ${band.high}${unit === '' ? '' : ` ${unit}`}`;
}

/** A label as it stands within a sentence: `alkalinity`, but `pH`. */
export function inSentence(label: string): string {
  return /^[A-Z][a-z]/.test(label) ? label.slice(0, 1).toLowerCase() + label.slice(1) : label;
}

/** A probe by what it measures, and by its name where that alone does not tell it. */
export function probeWords({ label, name }: { label: string; name: string | null }): string {
  return name === null ? label : `${label} (${name})`;
}
