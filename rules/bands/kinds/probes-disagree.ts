import { minuteMs } from '../../clock/durations.ts';
import { metricFacts } from '../../quantity/metric.ts';
import { amountText } from '../../words/value-text.ts';
import { conditionAbove } from '../condition.ts';
import { middleOf } from '../five-minute-median.ts';
import { type AlarmKind, onMedians } from './kind.ts';

export type ProbeValue = { probe: string; value: number };

/**
 * Probes of one metric in one water that do not say the same.
 *
 * @param values  the present calm value of each probe, same unit
 * @returns the widest difference and the probe that lies furthest from the middle (with two, nobody knows which is wrong:
 *          the first); undefined for fewer than two
 */
export function disagreement(values: readonly ProbeValue[]): { difference: number; odd: string } | undefined {
  const middle = middleOf(values.map(({ value }) => value));
  if (middle === undefined || values.length < 2) return undefined;
  let odd = values[0]!;
  let low = odd.value;
  let high = odd.value;
  for (const one of values) {
    if (Math.abs(one.value - middle) > Math.abs(odd.value - middle)) odd = one;
    low = Math.min(low, one.value);
    high = Math.max(high, one.value);
  }
  return { difference: high - low, odd: odd.probe };
}

/** A probe whose last calm value is older than this has no say about its neighbour. */
const presentMs = 15 * minuteMs;

export const probesDisagree: AlarmKind<'probes_disagree', 'disagree', never> = {
  id: 'probes_disagree',
  means: "Two probes in the same water differ by more than their makers' tolerances explain.",
  firstLook: 'check the one that the line names with a hand instrument. Trust neither for dosing until you know.',
  appliesTo: 'metric',
  hasDeadband: true,
  onStream: {
    disagree: {
      slot: 9,
      defaults: ({ facts }) =>
        facts.mayDiffer === undefined
          ? undefined
          : {
              ...onMedians,
              priority: 'medium',
              limit: facts.mayDiffer,
              deadband: facts.mayDiffer / 4,
              // Water of two chambers mixes within the hour.
              onDelayMs: 60 * minuteMs,
              offDelayMs: 60 * minuteMs,
            },
      judge: {
        each: 'median',
        condition({ room, stream, settings, timeMs }) {
          const { series } = stream;
          const peers = room.byName.get(series.metric)?.get(series.system);
          if (peers === undefined || peers.size < 2) return undefined;
          const values: ProbeValue[] = [];
          let first = stream;
          for (const peer of peers.values()) {
            // One alarm for the lot: it stays with the probe whose name comes first.
            if (peer.series.probe < first.series.probe) first = peer;
            const { calmValue, calmMs, probe } = peer.series;
            if (calmValue !== null && timeMs - calmMs <= presentMs) values.push({ probe, value: calmValue });
          }
          const found = first === stream ? disagreement(values) : undefined;
          if (found === undefined) return undefined;
          series.figures.difference = found.difference;
          series.figures.oddProbe = found.odd;
          return conditionAbove(found.difference, settings.limit, settings.deadband);
        },
      },
      reach: ({ figures }, { limit }) => figures.difference - limit,
      hiddenBy: { by: ['above', 'below', 'rate', 'flat', 'impossible'], forMs: 30 * minuteMs },
      raised({ metric, units, figures, held }) {
        const amount = amountText(metric, figures.difference, units);
        return `${metricFacts[metric].label}: its probes differ by ${amount}${held}. Check ${figures.oddProbe} first, against a hand instrument.`;
      },
      returned: ({ metric }) => `${metricFacts[metric].label}: its probes agree again.`,
    },
  },
  elsewhere: {},
};
