import type { AlarmRecord } from '#rules/bands/alarm-record.ts';
import type { SystemPart } from '#rules/bands/room-parts.ts';

/** Alarms by their places in what the rules remember of a system; the name of a place is for good. */
export type PartAlarms = readonly (readonly [string, AlarmRecord])[];

const placeInSeries = ({ metric, probe }: { metric: string; probe: string }, slot: number) =>
  `${slot}/${metric}/${probe}`;
const placeOf = ({ id }: AlarmRecord) => `=${id}`;

export function alarmsOfPart({ series, alarms }: SystemPart): PartAlarms {
  return [
    ...series.flatMap((each) =>
      each.alarms.flatMap((record, slot) => (record === null ? [] : [[placeInSeries(each, slot), record] as const])),
    ),
    ...alarms.map((record) => [placeOf(record), record] as const),
  ];
}

/** The part with these alarms in their places; one of a stream that the part does not have stays out. */
export function withAlarms(part: SystemPart, given: PartAlarms): SystemPart {
  const byPlace = new Map(given);
  const slots = [...byPlace.keys()].map((place) => Number.parseInt(place, 10) + 1).filter((slot) => slot > 0);
  const known = new Set(part.alarms.map(placeOf));
  return {
    ...part,
    series: part.series.map((each) => {
      const length = Math.max(each.alarms.length, ...slots);
      const at = (slot: number) => byPlace.get(placeInSeries(each, slot)) ?? each.alarms[slot] ?? null;
      return { ...each, alarms: Array.from({ length }, (_, slot) => at(slot)) };
    }),
    alarms: [
      ...part.alarms.map((record) => byPlace.get(placeOf(record)) ?? record),
      ...given.filter(([place]) => place.startsWith('=') && !known.has(place)).map(([, record]) => record),
    ],
  };
}
