import type { ProbeReading } from './room.ts';
import type { Random } from './seeded-random.ts';

/** How the invented devices of the demonstration say their readings. */

/** Topics on which the devices speak. The display's board uses its own only where no pseudo-terminal can be made. */
export const topics = {
  displayBoard: 'demo/display/board',
  growoutPack: 'demo/growout/probes',
  quarantine: { temperature: 'demo/quarantine/temperature', conductivity: 'demo/quarantine/conductivity' },
} as const;

/** Keys of the display's board. */
const boardKeys = { temperature: 't', ph: 'ph', conductivity: 'ec' } as const;

/** SenML unit and the number of store units in one of it, by metric. @source RFC 8428, section 12.1 */
const senmlUnits = {
  temperature: { unit: 'Cel', storeUnits: 1 },
  ph: { unit: 'pH', storeUnits: 1 },
  conductivity: { unit: 'S/m', storeUnits: 10 },
} as const;

type WiredMetric = keyof typeof boardKeys;

function isWired(metric: string): metric is WiredMetric {
  return Object.hasOwn(boardKeys, metric);
}

/** One line of the display's board without its end: `t=25.41 ph=8.21 ec=53.12`. */
export function boardLine(readings: readonly ProbeReading[]): string {
  return readings
    .flatMap(({ metric, value }) => (isWired(metric) ? [`${boardKeys[metric]}=${value.toFixed(2)}`] : []))
    .join(' ');
}

/** A SenML pack of the readings of one system; the names are `<system>/<metric>`. */
export function senmlPack(system: string, readings: readonly ProbeReading[]): string {
  const records = readings.flatMap(({ metric, value }) => {
    if (!isWired(metric)) return [];
    const { unit, storeUnits } = senmlUnits[metric];
    return [{ n: metric, u: unit, v: Number((value / storeUnits).toFixed(5)) }];
  });
  return JSON.stringify(records.map((record, place) => (place === 0 ? { bn: `${system}/`, ...record } : record)));
}

/** Share of lines that electrical noise spoils. */
const noiseShare = 0.04;

/**
 * The line as it arrives over a cable beside pumps and ballasts: as a rule whole, at times torn (its end, and with it the
 * line end, is lost, so that the next line runs into it) or after a burst of stray bytes.
 */
export function overNoisyCable(line: string, random: Random): Buffer {
  const whole = Buffer.from(`${line}\n`, 'latin1');
  if (random() >= noiseShare) return whole;
  if (random() < 0.5) return whole.subarray(0, 1 + Math.floor(random() * (line.length - 1)));
  const burst = Buffer.from(Array.from({ length: 1 + Math.floor(random() * 24) }, () => Math.floor(random() * 256)));
  return Buffer.concat([burst, whole]);
}
