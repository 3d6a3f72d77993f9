import { execFileSync } from 'node:child_process';

const script = `
import json, sys
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo
answers = []
for week, zone in json.load(sys.stdin):
    monday = date.fromisocalendar(int(week[:4]), int(week[6:]), 1)
    starts = []
    for day in range(8):
        midnight = datetime.combine(monday + timedelta(days=day), datetime.min.time(), ZoneInfo(zone))
        starts.append(round(midnight.timestamp() * 1000))
    answers.append(starts)
print(json.dumps(answers))
`;

import { programAt } from '../../../machine/parts.mjs';

/**
 * The starts of the days of weeks, UTC milliseconds, and of the Monday after, by Python's datetime and zoneinfo: another
 * calendar and another reader of the IANA database than ours. A midnight that is skipped is there the moment of the jump,
 * one that comes twice is the first (PEP 495, fold 0).
 */
export function dayStartsByPython(weeks: readonly (readonly [week: string, zone: string])[]): number[][] {
  const output = execFileSync(programAt('python3'), ['-c', script], { input: JSON.stringify(weeks) });
  return JSON.parse(output.toString('utf8')) as number[][];
}
