/** A value as it goes out to the open pages. Time in UTC milliseconds; without a value, why. */
export type LiveValue = {
  system: string;
  metric: string;
  probe: string;
  time: number;
  flag: string;
  value: number | null;
  why?: string;
};
