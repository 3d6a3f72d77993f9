import type { Metric } from '../quantity/metric.ts';

/**
 * The first thing to look at, by metric and direction. Rules of the trade: common practice, no published source. Each is one
 * sentence, ordered by what is worst if it is true and quickest to rule out.
 */
type Checks = { high: string; low: string };

const conductivityChecks: Checks = {
  high: 'Check that the top-off still adds fresh water and that its reservoir is not empty.',
  low: 'Check the cell for a bubble, then that the top-off is not stuck open.',
};

const firstChecks: Partial<Record<Metric, Checks>> = {
  temperature: {
    high: 'Check that the heater is not stuck on, then fans, chiller and room.',
    low: 'Check that the heater is powered and heating, then the flow past it.',
  },
  ph: {
    high: 'Stop dosing and check for an overdose, then test the alkalinity.',
    low: 'Check the probe and its plug, then fresh air and circulation; test the alkalinity before you dose anything.',
  },
  conductivity: conductivityChecks,
  specific_conductance_25: conductivityChecks,
  salinity: conductivityChecks,
  specific_gravity: conductivityChecks,
  alkalinity: {
    high: 'Stop dosing it, test again, then check the dosing.',
    low: 'Test again, then check that the dosing ran and its container is not empty.',
  },
  calcium: {
    high: 'Test again, and pause its dosing until you know.',
    low: 'Test again, then check that the dosing ran.',
  },
  magnesium: { high: 'Test again, and pause its dosing until you know.', low: 'Test again, then check the salt mix.' },
  nitrate: {
    high: 'Test again, then look at feeding and export.',
    low: 'Test again, then look at feeding and export.',
  },
  phosphate: {
    high: 'Test again, then look at feeding and export.',
    low: 'Test again, then look at feeding and export.',
  },
  orp: { high: 'Stop any oxidiser at once.', low: 'Look for something dead, then at skimmer and circulation.' },
  level: {
    high: 'Check for a top-off stuck open or a pump that stopped.',
    low: 'Check the floor for a leak, then the top-off and its reservoir.',
  },
  par: { high: 'Check the height and the setting of the light.', low: 'Check the light and the probe for growth.' },
  pco2: { high: 'Ventilate the room.', low: 'Check the sensor.' },
  room_co2: {
    high: 'Ventilate the room; with a reactor, check its bottle and valve for a leak before anyone stays in there.',
    low: 'Check the sensor in outdoor air.',
  },
};

/** The first thing to check when this metric is on that side. */
export function firstCheck(metric: Metric, side: 'high' | 'low'): string {
  return firstChecks[metric]?.[side] ?? 'Test again before you change anything.';
}

/** What a probe of this metric most often suffers from, for alarms about the probe itself. */
export function probeCheck(metric: Metric): string {
  switch (metric) {
    case 'ph':
      return 'Check that the probe is plugged in and submerged.';
    case 'conductivity':
    case 'specific_conductance_25':
    case 'salinity':
    case 'specific_gravity':
      return 'Check that the cell is under water and free of bubbles.';
    default:
      return 'Check the probe, its cable and its plug.';
  }
}
