import { calciumAlkalinityOutOfStep } from './calcium-alkalinity-out-of-step.ts';
import { calibrationOverdue } from './calibration-overdue.ts';
import { containerLow } from './container-low.ts';
import { demandChanged } from './demand-changed.ts';
import { departure } from './departure.ts';
import { dosedNotMoved } from './dosed-not-moved.ts';
import { drift } from './drift.ts';
import { flatLine } from './flat-line.ts';
import { impossibleValue } from './impossible-value.ts';
import type { AlarmKind, OtherAlarm, StreamAlarm } from './kind.ts';
import { outOfBand } from './out-of-band.ts';
import { probesDisagree } from './probes-disagree.ts';
import { rate } from './rate.ts';
import { silentProbe } from './silent-probe.ts';
import { swing } from './swing.ts';
import { testOverdue } from './test-overdue.ts';

/** Every kind of alarms about the room, in the order in which people read of them. On one stream they judge in this order. */
export const kinds = [
  outOfBand,
  rate,
  swing,
  departure,
  drift,
  silentProbe,
  impossibleValue,
  flatLine,
  probesDisagree,
  demandChanged,
  calciumAlkalinityOutOfStep,
  dosedNotMoved,
  testOverdue,
  calibrationOverdue,
  containerLow,
] as const;

type Kind = (typeof kinds)[number];
type NamesOf<Alarms> = Alarms extends unknown ? keyof Alarms & string : never;

export type RuleKind = Kind['id'];
/** The alarms on a stream, and those that other evidence moves, by name. */
export type SlotName = NamesOf<Kind['onStream']>;
export type OtherName = NamesOf<Kind['elsewhere']>;

export const ruleKinds: readonly [RuleKind, ...RuleKind[]] = [kinds[0].id, ...kinds.slice(1).map(({ id }) => id)];

const kindById = new Map<string, AlarmKind>(kinds.map((kind) => [kind.id, kind]));

/** @param id  of a kind, or `edge_fault`, which is about the hub and no kind of the room's */
export function kindOf(id: RuleKind | 'edge_fault'): AlarmKind | undefined {
  return kindById.get(id);
}

/** The alarms on a stream: of which kind each is, and the alarm itself. */
export const streamAlarms = Object.fromEntries(
  kinds.flatMap((kind: AlarmKind) => Object.entries(kind.onStream).map(([name, alarm]) => [name, { kind, alarm }])),
) as Record<SlotName, { kind: AlarmKind & { id: RuleKind }; alarm: StreamAlarm }>;

/** The alarms that other evidence moves. */
export const otherAlarms = Object.fromEntries(
  kinds.flatMap((kind: AlarmKind) => Object.entries(kind.elsewhere).map(([name, alarm]) => [name, { kind, alarm }])),
) as Record<OtherName, { kind: AlarmKind & { id: RuleKind }; alarm: OtherAlarm }>;

export const slotNames = Object.keys(streamAlarms) as SlotName[];
export const otherNames = Object.keys(otherAlarms) as OtherName[];

/** Places of a stream's alarms in its list. */
export const slots = Object.fromEntries(slotNames.map((name) => [name, streamAlarms[name].alarm.slot])) as Record<
  SlotName,
  number
>;
