import { pointsFromReadings } from '#adapters/influx/points.ts';
import type { Reading } from '#rules/quality/reading.ts';
import { flags } from '#rules/quality/reading.ts';
import { metricFacts, metrics } from '#rules/quantity/metric.ts';
import { code, table } from './schema-words.ts';

/** What keepers ask of a time-series server, in both of its languages. Those in InfluxQL are run by a test. */
export const questions: readonly { asks: string; influxql: string; flux: string }[] = [
  {
    asks: 'The last temperature of each probe of a system',
    influxql: `SELECT last("value") FROM "temperature" WHERE "system" = 'display' AND "flag" != 'fail' GROUP BY "probe"`,
    flux: `from(bucket: "brinekeep")
  |> range(start: -1h)
  |> filter(fn: (r) => r._measurement == "temperature" and r.system == "display" and r.flag != "fail")
  |> group(columns: ["probe"])
  |> last()`,
  },
  {
    asks: 'The salinity of the last day by the hour, mean, least and greatest',
    influxql: `SELECT mean("value"), min("value"), max("value") FROM "salinity" WHERE "system" = 'display' AND "flag" != 'fail' AND time > now() - 1d GROUP BY time(1h), "probe" fill(none)`,
    flux: `from(bucket: "brinekeep")
  |> range(start: -1d)
  |> filter(fn: (r) => r._measurement == "salinity" and r.system == "display" and r.flag != "fail")
  |> group(columns: ["probe"])
  |> aggregateWindow(every: 1h, fn: mean, createEmpty: false)`,
  },
  {
    asks: 'How many readings failed in the last week, by probe: which probe is about to die',
    influxql: `SELECT count("value") FROM /.*/ WHERE "flag" = 'fail' AND time > now() - 7d GROUP BY "system", "probe"`,
    flux: `from(bucket: "brinekeep")
  |> range(start: -7d)
  |> filter(fn: (r) => r.flag == "fail")
  |> group(columns: ["_measurement", "system", "probe"])
  |> count()`,
  },
  {
    asks: 'How far the temperature swung on each of the last seven days',
    influxql: `SELECT spread("value") FROM "temperature" WHERE "system" = 'display' AND "flag" = 'pass' AND time > now() - 7d GROUP BY time(1d), "probe" fill(none)`,
    flux: `from(bucket: "brinekeep")
  |> range(start: -7d)
  |> filter(fn: (r) => r._measurement == "temperature" and r.system == "display" and r.flag == "pass")
  |> group(columns: ["probe"])
  |> aggregateWindow(every: 1d, fn: spread, createEmpty: false)`,
  },
];

const example: Reading = {
  series: { system: 'display', metric: 'temperature', probe: 'display-temperature' },
  timeMs: Date.UTC(2026, 10, 23, 4, 12),
  quality: { flag: 'pass', value: 25.62 },
};

const whatTagsAre: Record<string, string> = {
  hub: 'the hub that measured: several may fill one database',
  system: 'id of the system',
  probe: 'id of the probe; a derived metric has that of the probe it comes from',
  flag: `the quality: ${flags.filter((flag) => flag !== 'missing').join(', ')} (QARTOD)`,
};

/** The page about the points in a time-series database, from a line as the hub writes it. */
export function influxReference(): string {
  const line = pointsFromReadings([example], 'brinekeep');
  const [series = '', fields = '', stamp = ''] = line.split(' ');
  const [, ...tags] = series.split(',').map((each) => each.split('=')[0] ?? '');
  return [
    '# Points in InfluxDB',
    '',
    'Written by `npm run docs` from what the hub writes. With `influx:` in the configuration every reading is mirrored to InfluxDB 1.x or 2.x or',
    'VictoriaMetrics; the hub keeps its own record as well, and what a server missed while it was away is sent when it is back, in order. A',
    'repeat overwrites itself in InfluxDB, and in VictoriaMetrics where it is set to drop repeats. How to set them up:',
    '[influxdb2](../influxdb2/README.md), [victoriametrics](../victoriametrics/README.md).',
    '',
    'One reading as it is sent:',
    '',
    '```text',
    line,
    '```',
    '',
    ...table(
      ['part', 'here', 'what'],
      [
        ['measurement', code(series.split(',')[0] ?? ''), 'the metric, see below'],
        ...tags.map((tag) => [`tag ${code(tag)}`, code(tagValue(series, tag)), whatIsTag(tag)]),
        ['field `value`', code(fields.split('=')[1] ?? ''), "always a float, in the metric's own unit"],
        ['time', code(stamp), 'UTC milliseconds, as the reading is dated'],
      ],
    ),
    '',
    'A reading that failed its checks is there with flag `fail` and the raw number, as evidence: leave it out of every figure about the water.',
    'Missing readings are not sent. Tests, doses, alarms and bands are not mirrored; ask the [HTTP API](http.md) for them.',
    '',
    ...table(
      ['measurement', 'unit'],
      metrics.map((metric) => [code(metric), metricFacts[metric].unit || '(none)']),
    ),
    '',
    '## Questions',
    '',
    'InfluxQL is for InfluxDB 1.x; a test runs these on a real one. Flux is for InfluxDB 2.x, of which none was at hand: written after its documentation.',
    '',
    ...questions.flatMap(({ asks, influxql, flux }) => [
      ...[`${asks}:`, '', '```sql', influxql, '```', '', '```flux', ...flux.split('\n'), '```', ''],
    ]),
  ].join('\n');
}

function tagValue(series: string, tag: string): string {
  return (
    series
      .split(',')
      .find((each) => each.startsWith(`${tag}=`))
      ?.slice(tag.length + 1) ?? ''
  );
}

/** @throws for a tag that the page says nothing of */
function whatIsTag(tag: string): string {
  const what = whatTagsAre[tag];
  if (what === undefined) throw new Error(`tests/docs/influx-reference.ts says nothing of the tag ${tag}`);
  return what;
}
