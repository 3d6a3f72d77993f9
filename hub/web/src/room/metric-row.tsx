import type { MetricView } from '../../../api/room.ts';
import { addressOf } from '../kit/route.ts';
import { unitText, valueText } from '../kit/shown-number.ts';
import { StateShape } from '../kit/state-shape.tsx';
import { ageText } from '../kit/times.ts';
import { stateOf, unbroken } from '../kit/words.ts';
import { rowWords } from './ahead-words.ts';
import { foresee } from './foresight.ts';
import { nowMs } from './room-signals.ts';
import { RowPlot } from './row-plot.tsx';

/** One metric of a system: what it is now in words and numbers, and its last and next days against its band. */
export function MetricRow({ system, metric, zone }: { system: string; metric: MetricView; zone: string }) {
  const now = nowMs.value;
  const state = stateOf(metric, now);
  const { order } = foresee(metric, now);
  const { state: words, ahead } = rowWords(metric, now, zone);
  const { band, time } = metric;
  return (
    <li class={`row row-${state} row-is-${order}`} data-metric={metric.metric}>
      <a class="row-words" href={addressOf(system, metric.metric)}>
        <span class="row-label">{metric.label}</span>
        <span class="row-value">
          {metric.value === null ? '–' : valueText(metric, metric.value)}{' '}
          <small>{unitText(metric, metric.value)}</small>
        </span>
        <span class="row-state">
          <StateShape order={order} /> {unbroken(words)}
          {ahead === '' ? '' : <span class="row-ahead">, {unbroken(ahead)}</span>}
        </span>
        <span class="row-age">
          {[
            ...(time === null ? [] : [`${metric.probe === null ? 'tested ' : ''}${ageText(now - time)}`]),
            ...(band === null ? [] : [`band ${valueText(metric, band.low)} to ${valueText(metric, band.high)}`]),
          ].join(' · ')}
        </span>
      </a>
      <RowPlot
        metric={metric}
        nowMs={now}
        zone={zone}
        label={`${metric.label}: the last 24 hours and the two days to come. ${words}${ahead === '' ? '' : `, ${ahead}`}.`}
      />
    </li>
  );
}
