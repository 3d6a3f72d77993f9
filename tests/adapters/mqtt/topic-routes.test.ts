import { expect, test } from 'vitest';
import { createAcknowledgements } from '#adapters/mqtt/acknowledgements.ts';
import { routesByTopic, topicMatcher } from '#adapters/mqtt/topic-routes.ts';

test('several probes in one payload are one subscription and one decoding', () => {
  const routes = routesByTopic([
    { topic: 'rack/1', format: 'json', channel: 'water.ph' },
    { topic: 'rack/1', format: 'json', channel: 'water.t', timePath: 'at' },
    { topic: 'rack/1', format: 'json', channel: 'water.ph' },
    { topic: 'rack/2', format: 'senml', channel: 'ph' },
    { topic: 'rack/2', format: 'senml', channel: 't' },
  ]);
  expect([...routes]).toEqual([
    [
      'rack/1',
      [
        {
          format: 'json',
          paths: [
            { channel: 'water.ph', path: 'water.ph' },
            { channel: 'water.t', path: 'water.t', timePath: 'at' },
          ],
        },
      ],
    ],
    ['rack/2', [{ format: 'senml', paths: [] }]],
  ]);
});

test.each(['rack/+/ph', 'rack/#', ''])('a probe that listens to "%s" would mix up probes, and is refused', (topic) => {
  expect(() => routesByTopic([{ topic, format: 'number', channel: '' }])).toThrow(RangeError);
});

test.each([
  ['brinekeep/command/+', 'brinekeep/command/acknowledge', true],
  ['brinekeep/command/+', 'brinekeep/command/a/b', false],
  ['brinekeep/command/+', 'brinekeep/command', false],
  ['brinekeep/command/+', 'brinekeep/command/', true],
  ['a/b', 'a/b', true],
  ['a/b', 'a/B', false],
  ['+/b', 'a/b', true],
  // MQTT 3.1.1, 4.7.1.2: `#` takes in the parent level too.
  ['sport/tennis/player1/#', 'sport/tennis/player1', true],
  ['sport/tennis/player1/#', 'sport/tennis/player1/score/wimbledon', true],
  ['sport/tennis/player1/#', 'sport/tennis/player2/score', false],
  ['farm/+/alarms/#', 'farm/hub-07/alarms/display/ph/silent', true],
  ['farm/+/alarms/#', 'farm/hub-07/command', false],
])('the filter %s and the topic %s', (filter, topic, fits) => {
  expect(topicMatcher(['x/y', filter])(topic)).toBe(fits);
});

test('a message that is stored early is acknowledged after those before it', () => {
  const sent: number[] = [];
  const acknowledgements = createAcknowledgements<number>((messageId) => sent.push(messageId));
  const [first, second, third] = [7, 8, 9].map((messageId) => acknowledgements.expect(messageId));
  second!();
  expect(sent).toEqual([]);
  first!();
  expect(sent).toEqual([7, 8]);
  third!();
  expect(sent).toEqual([7, 8, 9]);
});
