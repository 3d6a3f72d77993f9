/** The topics that the hub writes and listens to, all below the configured prefix. */
export type Topics = {
  status: string;
  phone: string;
  escalated: string;
  heartbeat: string;
  week: string;
  about: string;
  command: string;
  tests: string;
  doses: string;
  waterChanges: string;
  refills: string;
  alarm(alarm: string): string;
};

/** Those that come in from phones. */
export function inboundOf({ command, tests, doses, waterChanges, refills }: Topics): string[] {
  return [command, tests, doses, waterChanges, refills];
}

export function topicsBelow(prefix: string): Topics {
  return {
    /** Retained JSON: online or offline (the last will), since when. */
    status: `${prefix}/status`,
    /** One short plain line for each notice, for a phone's general MQTT app. Not retained: an old line is no news. */
    phone: `${prefix}/phone`,
    /** The same for a second person, when nobody acknowledges a high alarm. */
    escalated: `${prefix}/phone/escalated`,
    /** Retained JSON once a minute while the hub does its work: an old time there means that nobody watches. */
    heartbeat: `${prefix}/heartbeat`,
    /** Retained JSON: the result of the last whole week. */
    week: `${prefix}/week`,
    /** Retained JSON: names and bands, for another hub that shows this one. */
    about: `${prefix}/about`,
    /** Commands come in here: acknowledge, and what else a phone may ask for. */
    command: `${prefix}/command`,
    /** What a person or a machine enters. */
    tests: `${prefix}/enter/test`,
    doses: `${prefix}/enter/dose`,
    waterChanges: `${prefix}/enter/water-change`,
    refills: `${prefix}/enter/refill`,
    /** One retained JSON state for each alarm. */
    alarm: (alarm) => `${prefix}/alarms/${alarm}`,
  };
}
