/** What a hub says of itself, retained, below its prefix. */
export const hubTopicKinds = ['status', 'heartbeat', 'week', 'about', 'alarms', 'readings'] as const;

export type HubTopicKind = (typeof hubTopicKinds)[number];

const isMany: Record<HubTopicKind, boolean> = {
  status: false,
  heartbeat: false,
  week: false,
  about: false,
  alarms: true,
  readings: true,
};

/** The filters to listen to. Commands and entries of other hubs are never among them. */
export function fleetFilters(prefixes: readonly string[]): string[] {
  return prefixes.flatMap((prefix) => hubTopicKinds.map((kind) => `${prefix}/${kind}${isMany[kind] ? '/#' : ''}`));
}

export type HubTopic = { hub: string; kind: HubTopicKind; rest: string[] };

/** @returns undefined for a topic of no hub of the fleet; one that two prefixes fit belongs to the first */
export function hubTopicOf(prefixes: readonly string[]): (topic: string) => HubTopic | undefined {
  const wanted = prefixes.map((prefix) => prefix.split('/'));
  return (topic) => {
    const levels = topic.split('/');
    for (const own of wanted) {
      const kind = hubTopicKinds.find((each) => each === levels[own.length]);
      if (kind === undefined || !own.every((level, at) => level === '+' || level === levels[at])) continue;
      const rest = levels.slice(own.length + 1);
      if (isMany[kind] === rest.length > 0) return { hub: levels.slice(0, own.length).join('/'), kind, rest };
    }
    return undefined;
  };
}
