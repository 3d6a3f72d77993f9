import type { Figure } from './figure.ts';
import type { PlotShape } from './plot-shape.ts';

/** The review as a person reads it, free of any mark-up: the file and the page show the same parts in the same words. */
export type Part =
  | { is: 'words'; text: string }
  /** The first cell of a row names it. A cell of `why` has no number, and says why. */
  | { is: 'table'; name: string; head: string[]; rows: Cell[][] }
  | { is: 'list'; items: { text: string; detail: string; isTask: boolean }[] }
  | { is: 'plots'; plots: { title: string; detail: string; plot: PlotShape }[] };

export type Cell = { text: string; why?: true; bad?: true };

export type Section = { id: string; title: string; parts: Part[] };

export const cell = (text: string): Cell => ({ text });
export const words = (text: string): Part => ({ is: 'words', text });

/** A number and its unit stay on one line in a narrow column. */
const unitAfterNumber = /(\d) (?=%|°C|dKH|mg\/L|mL|min\b|[hdgL]\b)/g;

/** A figure in its words, or the reason why there is none. */
export function say(figure: Figure, text: (value: number) => string, isBad = (_value: number) => false): Cell {
  if ('absent' in figure) return { text: figure.absent, why: true };
  const said = text(figure.value).replace(unitAfterNumber, '$1\u00a0');
  return isBad(figure.value) ? { text: said, bad: true } : { text: said };
}

/** A table, or a sentence where it would have no row. */
export function tableOr(none: string, name: string, head: string[], rows: Cell[][]): Part {
  return rows.length === 0 ? words(none) : { is: 'table', name, head, rows };
}
