/** What is said of a text that should be a number; one with a decimal comma is given back as it must be written. */
export function notNumber(name: string, text: string): string {
  const comma = /^\s*([+-]?\d+),(\d+)\s*$/.exec(text);
  const hint = comma === null ? '' : `. Write ${comma[1]}.${comma[2]}`;
  return `${name}: found "${text.slice(0, 40)}", need a number${hint}`;
}
