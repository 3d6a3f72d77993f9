/** The number a person typed: a comma is a decimal point; undefined when it is none. */
export function numberIn(text: string): number | undefined {
  const number = Number(text.trim().replace(',', '.'));
  return text.trim() === '' || !Number.isFinite(number) ? undefined : number;
}
