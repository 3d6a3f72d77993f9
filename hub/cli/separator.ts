import { InvalidArgumentError } from 'commander';
import { Refused } from '../model/refusals/refused.ts';

/** What `--separator` says: one character, or the word tab. */
export function separatorOf(text: string): string {
  if (text === 'tab' || text === '\\t') return '\t';
  if (text.length !== 1 || /[\w".]/.test(text))
    throw new InvalidArgumentError('need one character such as ; or the word tab');
  return text;
}

/** A table of one column is one whose cells are parted by another sign than was said. @throws Refused wrong_usage */
export function refuseOneColumn(file: string, columns: readonly string[]): void {
  const [only, ...more] = columns;
  if (only === undefined || more.length > 0) return;
  const sign = [';', '\t', '|', ','].find((each) => only.includes(each));
  const hint =
    sign === undefined
      ? 'name the separator of its columns with --separator'
      : `try --separator ${sign === '\t' ? 'tab' : `"${sign}"`}`;
  throw new Refused('wrong_usage', `${file}: its header is one column, "${only.slice(0, 60)}": ${hint}`);
}
