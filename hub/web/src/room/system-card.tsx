import { useState } from 'preact/hooks';
import { hourMs } from '#rules/clock/durations.ts';
import { isCounted } from '#rules/verdicts/counted-alarm.ts';
import type { MetricView, SystemView } from '../../../api/room.ts';
import { addressOf } from '../kit/route.ts';
import { unitText, valueText } from '../kit/shown-number.ts';
import { StateShape } from '../kit/state-shape.tsx';
import { midnights, weekday } from '../kit/times.ts';
import { stateWords } from '../kit/words.ts';
import { Advice } from './advice.tsx';
import { Alarms } from './alarms.tsx';
import { EntryPanel } from './entry-panel.tsx';
import { foresee, isQuiet, rowsOf } from './foresight.ts';
import { sentenceOf } from './headline.ts';
import { MetricRow } from './metric-row.tsx';
import { nowMs } from './room-signals.ts';
import { RowPlot } from './row-plot.tsx';
import { aheadHours, nowX, pastHours, plotWidth } from './row-scale.ts';

/** Whether a day's name, which begins at its midnight, leaves room for `now`, which stands over its place. @param gap  % of the plot */
function isBesideNow(gap: number): boolean {
  return gap > 7 || gap < -18;
}

/** Which day is where, over the plots of a system. The marks of the plots are explained once, by their own look. */
function TimeAxis({ zone }: { zone: string }) {
  const now = nowMs.value;
  const across = (time: number) =>
    ((nowX + ((time - now) / ((pastHours + aheadHours) * hourMs)) * plotWidth) / plotWidth) * 100;
  const days = midnights(now - pastHours * hourMs, now + (aheadHours - 6) * hourMs, zone);
  return (
    <div class="axis" aria-hidden="true">
      <div class="axis-plot">
        <span class="axis-now" style={{ left: `${across(now)}%` }}>
          now
        </span>
        {days
          .filter((time) => isBesideNow(across(time) - across(now)))
          .map((time) => (
            <span key={time} style={{ left: `${across(time)}%` }}>
              {weekday(time, zone, 'short')}
            </span>
          ))}
      </div>
    </div>
  );
}

/** What is quiet, each as its figure: no drawing says more while nothing moves. */
function Figures({ system, metrics }: { system: string; metrics: readonly MetricView[] }) {
  const now = nowMs.value;
  return (
    <ul class="figures">
      {metrics.map((metric) => (
        <li key={`${metric.metric} ${metric.probe}`} data-metric={metric.metric}>
          <a href={addressOf(system, metric.metric)}>
            <span class="figure-label">
              <StateShape order={foresee(metric, now).order} /> {metric.label}
              <span class="visually-hidden"> {stateWords(metric, now)}</span>
            </span>
            <span class="figure-value">
              {metric.value === null ? '–' : valueText(metric, metric.value)}{' '}
              <small>{unitText(metric, metric.value)}</small>
            </span>
          </a>
        </li>
      ))}
    </ul>
  );
}

/** The rows of a system; on a phone, until somebody opens it, those that need a look, and the figures of the others. */
function Rows({ system, zone, isShort }: { system: SystemView; zone: string; isShort: boolean }) {
  const { first: all, folded } = rowsOf(system.metrics, nowMs.value);
  const first = isShort ? all.filter((metric) => !isQuiet(metric, nowMs.value)) : all;
  const rowsFor = (metrics: readonly MetricView[]) => (
    <ul class="rows">
      {metrics.map((metric) => (
        <MetricRow key={`${metric.metric} ${metric.probe}`} system={system.id} metric={metric} zone={zone} />
      ))}
    </ul>
  );
  return (
    <div>
      {(first.length > 0 || !isShort) && <TimeAxis zone={zone} />}
      {rowsFor(first)}
      {isShort && <Figures system={system.id} metrics={all.filter((metric) => !first.includes(metric))} />}
      {!isShort && folded.length > 0 && (
        <details class="folded">
          <summary>{folded.length} derived values</summary>
          {rowsFor(folded)}
        </details>
      )}
    </div>
  );
}

type Looks = {
  /** The sentence on top of the room speaks of it already. */
  isAlone?: boolean;
  /** On a phone: figures in place of quiet rows, and no advice but what asks for something, until somebody opens it. */
  isShort?: boolean;
  /** The list of what to do stands above it, with a line for each alarm: here they are folded away. */
  isListed?: boolean;
};

/** The alarms of a system; where each has its line above already, how many there are, to be opened. */
function CardAlarms({ system, zone, isListed }: { system: SystemView; zone: string; isListed: boolean }) {
  const { alarms } = system;
  if (!isListed || alarms.length === 0) return <Alarms alarms={alarms} zone={zone} />;
  const told = alarms.filter(isCounted);
  const loudest = (['high', 'medium', 'low'] as const).find((each) => told.some(({ priority }) => priority === each));
  const rest = alarms.length - told.length;
  const words = [
    ...(told.length > 0 ? [`${told.length} active alarm${told.length === 1 ? '' : 's'}`] : []),
    ...(rest > 0 ? [`${rest} silenced or ended`] : []),
  ];
  return (
    <details class={`alarm-fold alarm-${loudest ?? 'over'}`}>
      <summary class="alarm-count">{words.join(', ')}</summary>
      <Alarms alarms={alarms} zone={zone} />
    </details>
  );
}

/** A system: its sentence, its alarms, its rows, where to enter what was done, and what to do. */
export function SystemCard({
  system,
  zone,
  isAlone = false,
  isShort = false,
  isListed = false,
}: { system: SystemView; zone: string } & Looks) {
  const [isOpen, setOpen] = useState(false);
  const isFolded = isShort && !isOpen;
  return (
    <section class="system" aria-labelledby={`system-${system.id}`}>
      <h2 id={`system-${system.id}`}>
        {system.name} <small>{system.volume_l} L</small>
      </h2>
      {!isAlone && <p class="system-sentence">{sentenceOf(system, nowMs.value, zone)}</p>}
      <CardAlarms system={system} zone={zone} isListed={isListed} />
      <Rows system={system} zone={zone} isShort={isFolded} />
      <EntryPanel system={system} />
      <Advice system={system} zone={zone} isShort={isFolded} />
      {isShort && (
        <button type="button" class="unfold" aria-expanded={isOpen} onClick={() => setOpen(!isOpen)}>
          {isOpen ? 'Less' : 'All curves and advice'}
          <span class="visually-hidden"> of {system.name}</span>
        </button>
      )}
    </section>
  );
}

/** A system among many: its sentence and the row that leaves its band first. */
export function SystemTile({ system, zone }: { system: SystemView; zone: string }) {
  const now = nowMs.value;
  const [metric] = rowsOf(system.metrics, now).first;
  const order = metric === undefined ? 'unbanded' : foresee(metric, now).order;
  const standing = system.alarms.filter(isCounted).length;
  return (
    <li class={`tile row-is-${order}`} data-system={system.id}>
      <a href={addressOf(system.id)}>
        <span class="tile-name">
          <StateShape order={order} /> {system.name}
        </span>
        {standing > 0 && <span class="tile-alarms">{standing === 1 ? '1 alarm' : `${standing} alarms`}</span>}
        <span class="tile-sentence">{sentenceOf(system, now, zone, true)}</span>
      </a>
      {metric !== undefined && (
        <RowPlot metric={metric} nowMs={now} zone={zone} label={`${metric.label}, the last day and two days to come`} />
      )}
    </li>
  );
}
