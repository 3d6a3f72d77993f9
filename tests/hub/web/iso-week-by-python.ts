import { execFileSync } from 'node:child_process';
import { programAt } from '../../machine/parts.mjs';

/** ISO weeks by Python's calendar, which was written by others. @source Python standard library, date.isocalendar */
export function isoWeekByPython(days: readonly string[]): string[] {
  const program =
    'import sys,datetime\nfor d in sys.argv[1:]:\n y,w,_=datetime.date.fromisoformat(d).isocalendar()\n print(f"{y}-W{w:02d}")';
  return execFileSync(programAt('python3'), ['-c', program, ...days], { encoding: 'utf8' })
    .trim()
    .split('\n');
}
