/** What a hub says of itself, retained, below its prefix. */
export const toldKinds = ['status', 'heartbeat', 'week', 'about', 'alarms', 'readings'] as const;

export type ToldKind = (typeof toldKinds)[number];

const isMany: Record<ToldKind, boolean> = {
  status: false,
  heartbeat: false,
  week: false,
  about: false,
  alarms: true,
  readings: true,
};

/** The filters to listen to. Commands and entries of other hubs are never among them. */
export function fleetFilters(prefixes: readonly string[]): string[] {
  return prefixes.flatMap((prefix) => toldKinds.map((kind) => `${prefix}/${kind}${isMany[kind] ? '/#' : ''}`));
}

export type ToldTopic = { hub: string; kind: ToldKind; rest: string[] };

/** @returns undefined for a topic of no hub of the fleet; one that two prefixes fit belongs to the first */
export function toldTopic(prefixes: readonly string[]): (topic: string) => ToldTopic | undefined {
  const wanted = prefixes.map((prefix) => prefix.split('/'));
  return (topic) => {
    const levels = topic.split('/');
    for (const own of wanted) {
      const kind = toldKinds.find((each) => each === levels[own.length]);
      if (kind === undefined || !own.every((level, at) => level === '+' || level === levels[at])) continue;
      const rest = levels.slice(own.length + 1);
      if (isMany[kind] === rest.length > 0) return { hub: levels.slice(0, own.length).join('/'), kind, rest };
    }
    return undefined;
  };
}
