import type { Reading } from '../quality/reading.ts';
import type { Metric } from '../quantity/metric.ts';

/** What a person asks of an alarm or of the room. `by` says who, for the record. Times are UTC milliseconds. */
export type Command =
  | { do: 'acknowledge'; alarm: string; by: string }
  | { do: 'shelve'; alarm: string; untilMs: number; by: string; why?: string }
  | { do: 'unshelve'; alarm: string; by: string }
  /** Suppressed by design: nothing of the system (or of the one probe) is judged until then. */
  | { do: 'maintenance'; system: string; probe?: string; untilMs: number; by: string }
  | { do: 'end_maintenance'; system: string; probe?: string; by: string };

/** A manual measurement. */
export type TestEvidence = { is: 'test'; system: string; analyte: Metric; value: number; sd?: number; timeMs: number };

/** A dose given. `raisesBy` is what it should add to the whole system, in the analyte's store unit. */
export type DoseEvidence = {
  is: 'dose';
  system: string;
  analyteRaised?: Metric;
  raisesBy?: number;
  timeMs: number;
};

/** What the estimator thinks the system uses now; in dKH a day for alkalinity, mg/L a day for the rest. */
export type DemandEvidence = {
  is: 'demand';
  system: string;
  analyte: Metric;
  demandPerDay: number;
  /** Standard deviation of that estimate, same unit. */
  sd: number;
  /** UTC milliseconds of the estimate; the time of the step when absent. */
  timeMs?: number;
};

/**
 * Whether, when and on which side the estimator expects the metric to leave its band. Absent hours: it is as likely to stay.
 */
export type ForecastEvidence = {
  is: 'forecast';
  system: string;
  metric: Metric;
  hoursToLeave?: number;
  /** From 0 to 1: how sure the estimator is that it has left on that side by that time. */
  probability: number;
  side?: 'low' | 'high';
};

/** How long a reagent or dosing container lasts at the present use. */
export type ContainerEvidence = { is: 'container'; system: string; stock: string; name?: string; daysLeft: number };

/** A serial port, a broker or a store came or went. */
export type EdgeEvidence = {
  is: 'edge';
  name: string;
  isUp: boolean;
  detail: string;
  /** Ids of the probes whose readings come through it: their silence is then this edge's fault. Absent: none. */
  probes?: readonly string[];
  /** A part of the hub whose fault `detail` tells in full, with what to do: high and at once. */
  isUrgent?: boolean;
  /** It happened and is over, such as a damage that was repaired: the alarm ends when a person has acknowledged it, or after a day. */
  isOver?: boolean;
};

/** Everything that can move the rules of a room. */
export type Evidence =
  | { is: 'reading'; reading: Reading }
  /** Only time has passed. The hub sends one every few seconds, a replay at most a minute apart by the recorded clock. */
  | { is: 'time' }
  | { is: 'command'; command: Command }
  | TestEvidence
  | DoseEvidence
  | { is: 'calibration'; probe: string; timeMs: number }
  | DemandEvidence
  | ForecastEvidence
  | ContainerEvidence
  | EdgeEvidence;
