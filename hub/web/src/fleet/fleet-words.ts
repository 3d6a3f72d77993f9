import type { FleetMetric, HubTile } from '../../../api/fleet.ts';
import { ageText } from '../kit/times.ts';

/** `12 min`, where a sentence says what lasts so long. */
function spanText(ms: number): string {
  return ageText(ms).replace(/ ago$/, '');
}

function alarmWords({ alarms, acknowledged }: HubTile): string {
  const count = alarms.high + alarms.medium + alarms.low;
  const urgent = alarms.high > 0 && alarms.high < count ? `, ${alarms.high} high` : '';
  const kind = alarms.high === count ? 'high ' : '';
  const seen = acknowledged === count ? ', seen' : '';
  return `${count} ${kind}${count === 1 ? 'alarm' : 'alarms'}${urgent}${seen}`;
}

function countWords(count: number, one: string, many: string): string {
  return count === 1 ? `1 ${one}` : `${count} ${many}`;
}

/** How a hub does, in the fewest words that say it. */
export function hubWord(tile: HubTile, nowMs: number): string {
  const forText = tile.lastHeardMs === null ? '' : ` for ${spanText(nowMs - tile.lastHeardMs)}`;
  const { values } = tile;
  switch (tile.state) {
    case 'offline':
      return `Offline${forText}`;
    case 'silent':
      return tile.lastHeardMs === null ? 'Never heard from' : `No signal${forText}`;
    case 'alarm':
      return alarmWords(tile);
    case 'outside':
      return `${countWords(values.outside, 'value', 'values')} out of band`;
    case 'stale':
      return `${countWords(values.stale, 'probe', 'probes')} silent`;
    case 'doubtful':
      return `${countWords(values.doubtful, 'value', 'values')} in doubt`;
    case 'calm':
      if (values.inside > 0 && values.unbanded === 0) return 'All in band';
      return values.inside > 0 ? `${values.inside} in band, no alarm` : 'No alarm';
  }
}

/** The sentence over the wall: how many need somebody, and which is the worst. */
export function fleetSentence(tiles: readonly HubTile[], nowMs: number): string {
  const [worst] = tiles;
  if (worst === undefined) return 'No other hub heard so far.';
  const calm = tiles.filter(({ state }) => state === 'calm').length;
  if (calm === tiles.length) return `${countWords(calm, 'hub', 'hubs')}, and none needs a look.`;
  const need = tiles.length - calm;
  const rest = calm === 0 ? '' : ` ${countWords(calm, 'other is', 'others are')} calm.`;
  return `${need} of ${countWords(tiles.length, 'hub', 'hubs')} ${need === 1 ? 'needs' : 'need'} a look, first ${worst.name}: ${lower(hubWord(worst, nowMs))}.${rest}`;
}

function lower(text: string): string {
  return text.charAt(0).toLowerCase() + text.slice(1);
}

/** What the marks of a tile show, for whoever does not see them. */
export function marksWords({ values }: HubTile): string {
  const parts = [
    values.inside > 0 ? `${values.inside} inside` : '',
    values.outside > 0 ? `${values.outside} outside` : '',
    values.doubtful > 0 ? `${values.doubtful} in doubt` : '',
    values.stale > 0 ? `${values.stale} silent` : '',
    values.unbanded > 0 ? `${values.unbanded} without a band` : '',
  ].filter((part) => part !== '');
  return parts.length === 0 ? 'no values so far' : `values: ${parts.join(', ')}`;
}

export function valueWords(metric: FleetMetric, nowMs: number): string {
  switch (metric.state) {
    case 'stale':
      return `silent, last heard ${ageText(nowMs - metric.time)}`;
    case 'doubtful':
      return metric.value === null ? 'no value' : 'in doubt';
    case 'outside':
      return metric.band !== null && (metric.value ?? 0) > metric.band.high ? 'above its band' : 'below its band';
    case 'inside':
      return 'in its band';
    case 'unbanded':
      return 'no band known';
  }
}
