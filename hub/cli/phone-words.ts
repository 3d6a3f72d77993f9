import type { AnswerOf } from '../api/contract.ts';
import { outsideBrokerRules } from '../api/outside-broker.ts';

type Place = Pick<AnswerOf<'GET /api/phones'>, 'hosts' | 'port' | 'tls' | 'topic'>;

/** What became of the test line, and what to do now. */
export const triedWords: Record<AnswerOf<'POST /api/phones/:name/test'>['result'], string> = {
  not_connected:
    'Not connected. Check host, port, user and password in the app, and that the phone is in the same network.',
  not_subscribed: 'Connected, but not subscribed: subscribe to the topic with QoS 1.',
  without_acknowledgement:
    'Test line sent. The app subscribed with QoS 0, so no one knows whether it arrived: set QoS 1 in the app, then lines wait for a sleeping phone.',
  not_acknowledged:
    'Test line sent, no answer in 10 s. Is the app asleep? Open it, then see phone.md, "Let it ring at night".',
  received: 'The phone received the test line.',
  sent_outside: 'Test line sent to the broker. Look at the phone to see whether it arrived.',
};

export function placeLines(added: Place & { user: string; password: string }): string[] {
  return placeRows(added, [
    ['user', added.user],
    ['password', `${added.password}   (shown only once)`],
  ]);
}

function placeRows({ hosts, port, tls, topic }: Place, login: [string, string][]): string[] {
  const [host = 'the address of this machine', ...others] = hosts;
  const rows: [string, string][] = [
    ['host', others.length === 0 ? host : `${host}   (or ${others.join(', ')})`],
    ['port', `${port}${tls ? ', TLS' : ''}`],
    ...login,
    ['topic', `${topic}   (subscribe with QoS 1)`],
  ];
  return rows.map(([name, value]) => `  ${name.padEnd(10)}${value}`);
}

/** The hub makes no user at a broker that is another program. */
export function outsideBrokerLines(name: string, place: Place): string[] {
  return [
    'The broker is outside the hub: make the user there. For mosquitto:',
    `  mosquitto_passwd /etc/mosquitto/passwd ${name}`,
    'and in its acl_file:',
    ...outsideBrokerRules(name, place.topic).map((line) => `  ${line}`),
    'Then in the app of the phone:',
    ...placeRows(place, [
      ['user', name],
      ['password', 'the one that mosquitto_passwd asked for'],
    ]),
  ];
}
