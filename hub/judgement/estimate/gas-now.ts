import type { LowPh } from '#rules/seawater/low-ph.ts';
import type { PhScale } from '#rules/seawater/ph-scale.ts';
import type { DayCourse } from '#rules/trend/day-course.ts';
import type { GasTransfer } from '#rules/trend/gas-transfer.ts';

export type NightLow = { value: number; timeMs: number };

export type GasNow = {
  /** On the scale of the probe. */
  ph: { scale: PhScale; course: DayCourse; lowest: NightLow } | undefined;
  aragonite: { course: DayCourse; lowest: NightLow } | undefined;
  /** Somebody has told the hours of the lamp. */
  isLightTold: boolean;
  transfer: GasTransfer | undefined;
  /** Hours in which half of what a dose did to pH is gone, by the transfer and its interval. */
  halfLife_h: { likely: number; low95: number; high95: number } | undefined;
  room_ppm: number | undefined;
  lowPh: (LowPh & { shown: Partial<Record<PhOf, number>> }) | undefined;
  text: string[];
  cautions: string[];
};

/** The pH values of `LowPh`, as the probe would show them. */
export type PhOf = 'phInOutdoorAir' | 'phInRoomAir' | 'phWithReactor' | 'phNow';
