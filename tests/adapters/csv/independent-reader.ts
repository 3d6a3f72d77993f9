import { execFileSync } from 'node:child_process';

const script = `
import csv, json, sys
with open(sys.argv[1], newline='', encoding='utf-8', errors='strict') as file:
    print(json.dumps(list(csv.reader(file, strict=True))))
`;

import { programAt } from '../../machine/parts.mjs';

/** The cells of a file as the csv module of Python's standard library reads them: a reader that shares no code with ours. */
export function cellsByPython(path: string): string[][] {
  const output = execFileSync(programAt('python3'), ['-c', script, path], { maxBuffer: 64 * 1024 * 1024 });
  return JSON.parse(output.toString('utf8')) as string[][];
}
