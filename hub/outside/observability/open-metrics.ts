/** One figure of a family; `suffix` stands behind the family's name (`_total` of a counter, `_bucket` of a histogram). */
export type Sample = { value: number; labels?: Record<string, string>; suffix?: string };

export type Family = {
  name: string;
  type: 'gauge' | 'counter' | 'histogram';
  help: string;
  /** Read when somebody asks. */
  samples(): Iterable<Sample>;
};

export const openMetricsType = 'application/openmetrics-text; version=1.0.0; charset=utf-8';

/**
 * The families as OpenMetrics text.
 *
 * @source OpenMetrics 1.0, "Text format": ABNF, escaping, EOF; checked by the parser of prometheus_client (Python)
 */
export function openMetricsText(families: readonly Family[]): string {
  const lines: string[] = [];
  for (const { name, type, help, samples } of families) {
    lines.push(`# HELP ${name} ${escaped(help)}`, `# TYPE ${name} ${type}`);
    for (const { value, labels = {}, suffix = type === 'counter' ? '_total' : '' } of samples()) {
      const pairs = Object.entries(labels).map(([label, text]) => `${label}="${escaped(text)}"`);
      lines.push(`${name}${suffix}${pairs.length === 0 ? '' : `{${pairs.join(',')}}`} ${numberText(value)}`);
    }
  }
  return `${lines.join('\n')}\n# EOF\n`;
}

function escaped(text: string): string {
  return text.replaceAll('\\', '\\\\').replaceAll('\n', '\\n').replaceAll('"', '\\"');
}

function numberText(value: number): string {
  if (Number.isNaN(value)) return 'NaN';
  return Number.isFinite(value) ? String(value) : value > 0 ? '+Inf' : '-Inf';
}

/** Counts of durations by upper edges, as a histogram's samples. */
export type Histogram = { observe(value: number): void; samples(): Sample[] };

/** @param edges  upper edges, rising, in the unit that is observed */
export function createHistogram(edges: readonly number[]): Histogram {
  const counts = edges.map(() => 0);
  let count = 0;
  let sum = 0;
  return {
    observe(value) {
      count += 1;
      sum += value;
      const place = edges.findIndex((edge) => value <= edge);
      if (place >= 0) counts[place]! += 1;
    },
    samples() {
      let below = 0;
      const buckets = edges.map((edge, place) => {
        below += counts[place]!;
        return { suffix: '_bucket', labels: { le: bucketText(edge) }, value: below };
      });
      const whole = { suffix: '_bucket', labels: { le: '+Inf' }, value: count };
      return [...buckets, whole, { suffix: '_sum', value: sum }, { suffix: '_count', value: count }];
    },
  };
}

/** An edge is written as a number with a point, whole ones too (OpenMetrics 1.0, "Considerations for Canonical Numbers"). */
function bucketText(edge: number): string {
  return Number.isInteger(edge) ? edge.toFixed(1) : String(edge);
}
