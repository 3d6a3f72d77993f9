import { createHash } from 'node:crypto';
import { dateToProtocolTimestamp, Point } from '@influxdata/influxdb-client';
import type { Reading } from '#rules/quality/reading.ts';
import type { OutboxItem } from '../ports/store.ts';

/** The precision that `line-sender.ts` names to the server. */
const inMilliseconds = { convertTime: (time: unknown) => dateToProtocolTimestamp.ms(time as Date) };

/** One point, or nothing for a reading without a finite value: a server would refuse the whole batch for it. */
function lineFromReading(reading: Reading, hub: string | undefined): string | undefined {
  const { quality, series } = reading;
  if (quality.flag === 'missing') return undefined;
  const value = quality.flag === 'fail' ? quality.raw : quality.value;
  if (!Number.isFinite(value)) return undefined;
  const point = new Point(series.metric);
  if (hub !== undefined) point.tag('hub', hub);
  return point
    .tag('system', series.system)
    .tag('probe', series.probe)
    .tag('flag', quality.flag)
    .floatField('value', value)
    .timestamp(new Date(reading.timeMs))
    .toLineProtocol(inMilliseconds);
}

/**
 * Line protocol, one line a reading: measurement the metric, tags hub, system, probe and flag, field `value` (always a float,
 * in the metric's store unit), time in milliseconds. Readings without a finite value are left out.
 *
 * Several hubs may fill one database, and their systems may have equal names: the hub tells them apart. The same reading gives the same series and time however often it is sent, so a repeat overwrites itself.
 */
export function pointsFromReadings(readings: readonly Reading[], hub?: string): string {
  return readings
    .map((reading) => lineFromReading(reading, hub))
    .filter((line) => line !== undefined)
    .join('\n');
}

/** What the store lays into its outbox with the readings of a flush; its key is the digest of the text. */
export function mirrorBatch(readings: readonly Reading[], hub?: string): OutboxItem | undefined {
  const payload = pointsFromReadings(readings, hub);
  if (payload === '') return undefined;
  return { destination: 'influx', key: createHash('sha256').update(payload).digest('base64url').slice(0, 22), payload };
}
