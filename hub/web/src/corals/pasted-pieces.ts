export type PastedPiece = { kind: string; count: 1; longest_cm?: number };

/** A name, then perhaps its longest side in centimetres behind a comma, a semicolon, a tab or spaces. */
const line = /^(.*?\S)(?:[,;\t\s]+(\d{1,2}(?:[.,]\d+)?)\s*(?:cm)?)?$/;

/** One piece a line, as pasted from a message or a table: each keeps the name that it was given there. */
export function pastedPieces(text: string): PastedPiece[] {
  return text
    .split(/\r?\n/)
    .map((each) => each.trim())
    .filter((each) => each !== '')
    .map((each): PastedPiece => {
      const [, name = each, size] = line.exec(each) ?? [];
      const kind = name.replace(/[,;\t\s]+$/, '').slice(0, 80);
      return { kind, count: 1, ...(size === undefined ? {} : { longest_cm: Number(size.replace(',', '.')) }) };
    });
}
