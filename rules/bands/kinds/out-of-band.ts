import { minuteMs } from '../../clock/durations.ts';
import { metricFacts } from '../../quantity/metric.ts';
import { firstCheck } from '../../words/first-checks.ts';
import { bandText, valueText } from '../../words/value-text.ts';
import { conditionAbove, conditionBelow } from '../condition.ts';
import {
  type AlarmKind,
  type AskedOfAnalyte,
  type Defaults,
  type Judged,
  type RuledMetric,
  type Said,
  untilNext,
} from './kind.ts';

function inBand({ band, facts }: RuledMetric, limit: number): Defaults {
  const width = band === undefined ? 0 : band.high - band.low;
  return {
    priority: facts.outOfBand,
    limit,
    onDelayMs: facts.onDelayMinutes * minuteMs,
    offDelayMs: facts.offDelayMinutes * minuteMs,
    // A tenth of the band on each side is more than a sound probe's noise and leaves four fifths to return to.
    deadband: width / 10,
  };
}

/** A test within the band counts as a return: waiting for the middle of the band would ask for tests, not for water. */
function ofTest({ plan, settings, analyte }: AskedOfAnalyte, side: 'high' | 'low'): Judged {
  const { metric, band, units } = plan;
  const { label } = metricFacts[metric];
  const { value } = analyte.tests.at(-1)!;
  const shown = valueText(metric, value, units);
  const edges = band === undefined ? '' : bandText(metric, band, units);
  const way = side === 'high' ? 'above' : 'below';
  return {
    value,
    condition: side === 'high' ? conditionAbove(value, settings.limit, 0) : conditionBelow(value, settings.limit, 0),
    raised: () => `${label} was ${shown} at the last test, ${way} the band ${edges}. ${firstCheck(metric, side)}`,
    cleared: () => `${label} was ${shown} at the last test, back in the band.`,
  };
}

/** While the alarm waits for the value to stay inside, it is not said to be outside. */
function sentence({ name, value, edges, held, hint, metric, stream, settings }: Said, side: 'above' | 'below'): string {
  const { goodValue } = stream.series;
  const limit = settings?.limit ?? goodValue;
  const isBack = goodValue !== null && limit !== null && (side === 'above' ? goodValue <= limit : goodValue >= limit);
  const where = isBack ? `just back inside the band ${edges}` : `${side} the band ${edges}${held}`;
  return `${name} is ${value}, ${where}. ${hint}${firstCheck(metric, side === 'above' ? 'high' : 'low')}`;
}

export const outOfBand: AlarmKind<'out_of_band', 'above' | 'below', 'testAbove' | 'testBelow'> = {
  id: 'out_of_band',
  means:
    'A metric is above or below its band, for longer than its delay (temperature 5 min, pH and salinity 10 min). A test by hand counts at once.',
  firstLook:
    'the cause that the line names (heater, top-off, dosing). Check the probe against a hand instrument before you change the water.',
  appliesTo: 'metric',
  hasDeadband: true,
  onStream: {
    above: {
      slot: 0,
      idEnd: '/high',
      defaults: (of) => of.band && inBand(of, of.band.high),
      judge: {
        each: 'value',
        condition: ({ value, settings }) => conditionAbove(value, settings.limit, settings.deadband),
      },
      side: () => 'high',
      reach: ({ goodValue }, { limit }) => (goodValue ?? limit) - limit,
      isTrueNow: () => true,
      raised: (said) => sentence(said, 'above'),
      returned: ({ name, valueAfter }) => `${name} is back in the band${valueAfter}.`,
    },
    below: {
      slot: 1,
      idEnd: '/low',
      // Every night is dark: too little light is judged only where the keeper asks for it.
      defaults: (of) => of.band && { ...inBand(of, of.band.low), isEnabled: of.metric !== 'par' },
      judge: {
        each: 'value',
        condition: ({ value, settings }) => conditionBelow(value, settings.limit, settings.deadband),
      },
      side: () => 'low',
      reach: ({ goodValue }, { limit }) => (goodValue ?? limit) - limit,
      isTrueNow: () => true,
      raised: (said) => sentence(said, 'below'),
      returned: ({ name, valueAfter }) => `${name} is back in the band${valueAfter}.`,
    },
  },
  elsewhere: {
    // A test is looked at by the person who made it: no delay, and the next good test clears it.
    testAbove: {
      idEnd: '/high/test',
      defaults: ({ band, facts }) => band && { ...untilNext, priority: facts.outOfBand, limit: band.high },
      judge: { each: 'test', of: (asked) => ofTest(asked, 'high') },
    },
    testBelow: {
      idEnd: '/low/test',
      defaults: ({ band, facts }) => band && { ...untilNext, priority: facts.outOfBand, limit: band.low },
      judge: { each: 'test', of: (asked) => ofTest(asked, 'low') },
    },
  },
};
