/**
 * A strict reader of OpenMetrics text, written from the standard (OpenMetrics 1.0, section "Text format" with its ABNF, and
 * the rules for each type): what it does not take is not OpenMetrics.
 */

export type Sample = { name: string; labels: Record<string, string>; value: number };
export type Family = { name: string; type: string; help: string | undefined; samples: Sample[] };

const name = '[a-zA-Z_:][a-zA-Z0-9_:]*';
const descriptor = new RegExp(`^# (TYPE|HELP|UNIT) (${name}) (.*)$`);
const sampleLine = new RegExp(`^(${name})(?:\\{(.*)\\})? (\\S+)(?: (-?[0-9.]+))?$`);
const labelPair = /([a-zA-Z_][a-zA-Z0-9_]*)="((?:[^"\\\n]|\\["\\n])*)"(,|$)/y;
const real = /^([+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?|[+-]?Inf|NaN)$/;

/** Suffixes that the samples of a family of a type may have; section "Metric types". */
const suffixes: Record<string, readonly string[]> = {
  counter: ['_total', '_created'],
  gauge: [''],
  info: ['_info'],
  histogram: ['_bucket', '_count', '_sum', '_created'],
  unknown: [''],
};

/** @throws for the first line that breaks the standard */
export function openMetricsFrom(text: string): Map<string, Family> {
  if (!text.endsWith('# EOF\n')) throw new Error('it must end with "# EOF" and a line feed');
  const lines = text.slice(0, -'# EOF\n'.length).split('\n');
  if (lines.pop() !== '') throw new Error('every line ends with a line feed');
  const families = new Map<string, Family>();
  const seen = new Set<string>();
  let family: Family | undefined;
  for (const line of lines) {
    const described = descriptor.exec(line);
    if (described !== null) {
      const [, what, of = '', rest = ''] = described;
      if (family?.name !== of) {
        if (families.has(of)) throw new Error(`the family ${of} is begun twice or interleaved`);
        family = { name: of, type: 'unknown', help: undefined, samples: [] };
        families.set(of, family);
      }
      if (family.samples.length > 0) throw new Error(`${line}: after its samples`);
      if (what === 'TYPE') family.type = rest;
      if (what === 'HELP') family.help = rest;
      if (what === 'TYPE' && suffixes[rest] === undefined) throw new Error(`${line}: no such type`);
      if (what === 'TYPE' && rest === 'counter' && of.endsWith('_total'))
        throw new Error(`${line}: the family has no _total`);
      continue;
    }
    const found = sampleLine.exec(line);
    if (found === null) throw new Error(`no line of the format: ${JSON.stringify(line)}`);
    const [, sampleName = '', labelText, value = ''] = found;
    if (!real.test(value)) throw new Error(`${line}: no number`);
    const allowed = suffixes[family?.type ?? ''] ?? [];
    if (family === undefined || !allowed.some((suffix) => `${family?.name}${suffix}` === sampleName))
      throw new Error(`${line}: not a sample of the family ${family?.name} of type ${family?.type}`);
    const labels = labelText === undefined ? {} : labelsFrom(labelText);
    const key = `${sampleName} ${JSON.stringify(Object.entries(labels).sort())}`;
    if (seen.has(key)) throw new Error(`${line}: twice`);
    seen.add(key);
    const number = value.endsWith('Inf') ? (value.startsWith('-') ? -1 : 1) * Number.POSITIVE_INFINITY : Number(value);
    if (family.type === 'counter' && !(number >= 0)) throw new Error(`${line}: a counter below 0`);
    family.samples.push({ name: sampleName, labels, value: number });
  }
  for (const each of families.values()) if (each.type === 'histogram') checkHistogram(each);
  return families;
}

function labelsFrom(text: string): Record<string, string> {
  const labels: Record<string, string> = {};
  let at = 0;
  while (at < text.length) {
    labelPair.lastIndex = at;
    const pair = labelPair.exec(text);
    if (pair === null) throw new Error(`no labels: {${text}}`);
    const [whole, label = '', value = ''] = pair;
    if (label in labels) throw new Error(`the label ${label} twice: {${text}}`);
    labels[label] = value.replaceAll(/\\(["\\n])/g, (_, escaped: string) => (escaped === 'n' ? '\n' : escaped));
    at += whole.length;
  }
  return labels;
}

/** Buckets rise, the last is +Inf and equals the count. */
function checkHistogram({ name: of, samples }: Family): void {
  const buckets = samples.filter((sample) => sample.name === `${of}_bucket`);
  const count = samples.find((sample) => sample.name === `${of}_count`)?.value;
  const values = buckets.map(({ value }) => value);
  if (buckets.at(-1)?.labels['le'] !== '+Inf') throw new Error(`${of}: no +Inf bucket at its end`);
  if (values.some((value, index) => value < (values[index - 1] ?? 0))) throw new Error(`${of}: buckets fall`);
  if (values.at(-1) !== count) throw new Error(`${of}: the +Inf bucket is not the count`);
}
