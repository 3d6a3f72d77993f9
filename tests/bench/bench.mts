import { writeFileSync } from 'node:fs';
import { parseArgs } from 'node:util';
import { partsOfOneProcess } from '#hub/bench/parts.ts';
import { namesOf, runParts } from '#hub/bench/run-parts.ts';
import { answerTable } from '#hub/cli/answer-cases.ts';
import { adaptersForVerbs } from '#hub/compose.ts';
import { memoryPart, restPart } from './at-rest.ts';
import { ingestParts } from './ingest.ts';
import { latencyPart } from './latency.ts';
import { peersPart } from './peers/live.ts';
import { restartPart } from './restart.ts';
import { steadinessPart } from './steadiness.ts';
import { storagePart } from './storage.ts';
import { tenYearsPart } from './ten-years.ts';
import { writesPart } from './writes.ts';

/**
 * All that is measured, each figure beside something plain of the same run, and beside its aim:
 *
 *     npm run bench -- [--quick] [--only PART] [--json FILE]
 */
const { values } = parseArgs({
  options: {
    quick: { type: 'boolean', default: false },
    only: { type: 'string' },
    json: { type: 'string' },
  },
});
const parts = [
  ...ingestParts,
  peersPart,
  ...[steadinessPart, latencyPart, storagePart, writesPart, tenYearsPart, restartPart, memoryPart, restPart],
  ...partsOfOneProcess(adaptersForVerbs, answerTable),
];
if (values.only !== undefined && !parts.some(({ name }) => name === values.only)) {
  console.error(`no part "${values.only}"; there are ${namesOf(parts)}`);
  process.exit(2);
}
const report = await runParts(parts, { isQuick: values.quick, only: values.only }, (line) => console.log(line));
if (values.json !== undefined) writeFileSync(values.json, `${JSON.stringify(report, undefined, 2)}\n`);
process.exitCode = report.failed.length === 0 ? 0 : 1;
