/**
 * What to put into a broker outside the hub, as mosquitto writes it, so that a phone may hear the hub and command it.
 *
 * @param topic  that of the lines for phones, `<prefix>/phone`
 */
export function outsideBrokerRules(name: string, topic: string): string[] {
  const prefix = topic.slice(0, -'/phone'.length);
  return [
    `user ${name}`,
    ...['phone/#', 'alarms/#', 'status', 'heartbeat'].map((each) => `topic read ${prefix}/${each}`),
    ...['command', 'enter/+'].map((each) => `topic write ${prefix}/${each}`),
  ];
}
