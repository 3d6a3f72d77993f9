import type { ProbeView } from '../../../api/probes.ts';
import { probeName } from '../kit/probe-name.ts';
import { unitText, valueText } from '../kit/shown-number.ts';
import { StateShape } from '../kit/state-shape.tsx';
import { useAnswer } from '../kit/use-answer.ts';
import { nowMs } from '../room/room-signals.ts';
import { calibrationWords, probeAddress, probeState, verdictOrder } from './probe-words.ts';

const askEveryMs = 2000;

function ProbeRow({ probe }: { probe: ProbeView }) {
  const now = nowMs.value;
  const { order, words } = probeState(probe, now);
  const { calibration } = probe;
  return (
    <li class={`probe row-is-${order}`} data-probe={probe.id}>
      <a href={probeAddress(probe.id)}>
        <span class="probe-name">{probeName(probe)}</span>
        <span class="probe-value">
          {probe.value === null ? '–' : valueText(probe, probe.value)} <small>{unitText(probe, probe.value)}</small>
        </span>
        <span class="row-state">
          <StateShape order={order} /> {words}
          {probe.maintenanceUntil !== null && ', in maintenance: not judged'}
        </span>
        <span class="probe-calibration">
          <StateShape order={calibration === null ? 'unheard' : verdictOrder(calibration.verdict)} />{' '}
          {calibrationWords(probe, now)}
        </span>
      </a>
    </li>
  );
}

/** Every probe: what it says now, and what its last calibration said of it. A tap opens its calibration. */
export function ProbeList() {
  const { answer: probes, failure } = useAnswer('GET /api/probes', {}, askEveryMs);
  return (
    <main class="page page-probes">
      <h2 tabIndex={-1} data-view-title>
        Probes
      </h2>
      {failure !== undefined && <p role="status">The hub does not answer; what you see may be old.</p>}
      {probes === undefined && failure === undefined && <p class="loading">Asking the hub …</p>}
      {probes?.length === 0 && <p>No probes configured. Add them to the configuration, under probes.</p>}
      {probes !== undefined && probes.length > 0 && (
        <>
          <p>Open a probe to calibrate it.</p>
          {[...new Set(probes.map(({ systemName }) => systemName))].map((systemName) => (
            <section key={systemName} aria-label={systemName}>
              <h3>{systemName}</h3>
              <ul class="probes">
                {probes
                  .filter((probe) => probe.systemName === systemName)
                  .map((probe) => (
                    <ProbeRow key={probe.id} probe={probe} />
                  ))}
              </ul>
            </section>
          ))}
        </>
      )}
    </main>
  );
}
