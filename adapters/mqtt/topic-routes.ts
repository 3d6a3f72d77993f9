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
      route.paths.push({ channel, path: channel, ...(timePath === undefined ? {} : { timePath }) });
    }
  }
  return routes;
}

/** True when the topic fits the filter: equal level by level, `+` for any one level. `#` is not known here. */
export function topicMatches(filter: string, topic: string): boolean {
  const wanted = filter.split('/');
  const levels = topic.split('/');
  return wanted.length === levels.length && wanted.every((level, index) => level === '+' || level === levels[index]);
}
