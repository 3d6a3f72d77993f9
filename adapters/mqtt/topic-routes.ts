import { defined } from '#rules/plain-data/defined.ts';
import type { JsonValuePath } from '../decoders/decoder.ts';
import type { DecoderName } from '../decoders/registry.ts';
import type { MqttSubscription } from './options.ts';

/** One decoding of one topic's payload, whatever the number of probes that wait for it. */
export type Route = { format: DecoderName; paths: JsonValuePath[] };

/**
 * From each topic to the decodings that its payload needs: one for each format, with all JSON paths in it.
 * @throws RangeError for a topic with a wildcard, which no checked configuration has
 */
export function routesByTopic(subscriptions: readonly MqttSubscription[]): Map<string, Route[]> {
  const routes = new Map<string, Route[]>();
  for (const { topic, format, channel, timePath } of subscriptions) {
    if (/[+#\0]/.test(topic) || topic === '') throw new RangeError(`a probe cannot listen to the topic "${topic}"`);
    const ofTopic = routes.get(topic) ?? [];
    routes.set(topic, ofTopic);
    let route = ofTopic.find((each) => each.format === format);
    if (!route) {
      route = { format, paths: [] };
      ofTopic.push(route);
    }
    if (format === 'json' && !route.paths.some((each) => each.channel === channel)) {
      route.paths.push({ channel, path: channel, ...defined({ timePath }) });
    }
  }
  return routes;
}

/**
 * Whether a topic fits one of the filters: equal level by level, `+` for any one level, `#` at the end for all that follow
 * and for what stands before it alone. The filters are taken apart once: a fleet has hundreds, and each message asks.
 *
 * @source MQTT 3.1.1 (OASIS, 2014), 4.7.1
 */
export function topicMatcher(filters: readonly string[]): (topic: string) => boolean {
  const wanted = filters.map((filter) => filter.split('/'));
  if (wanted.length === 0) return () => false;
  return (topic) => {
    const levels = topic.split('/');
    return wanted.some((each) => levelsMatch(each, levels));
  };
}

function levelsMatch(wanted: readonly string[], levels: readonly string[]): boolean {
  const isOpen = wanted.at(-1) === '#';
  const fixed = isOpen ? wanted.length - 1 : wanted.length;
  if (isOpen ? levels.length < fixed : levels.length !== fixed) return false;
  for (let at = 0; at < fixed; at += 1) if (wanted[at] !== '+' && wanted[at] !== levels[at]) return false;
  return true;
}
