import type { ProbeDetail } from '../../../api/probes.ts';
import { probeName } from '../kit/probe-name.ts';
import { StateShape } from '../kit/state-shape.tsx';
import { useAnswer } from '../kit/use-answer.ts';
import { nowMs } from '../room/room-signals.ts';
import { CalibrationHistory } from './calibration-history.tsx';
import { CellCalibration } from './cell-calibration.tsx';
import { LinearCalibration } from './linear-calibration.tsx';
import { Maintenance } from './maintenance.tsx';
import { PhCalibration } from './ph-calibration.tsx';
import { calibrationWords, probeState, shownText } from './probe-words.ts';

const askEveryMs = 1000;
const askHistoryEveryMs = 30_000;

const calibrators = { ph: PhCalibration, cell: CellCalibration, linear: LinearCalibration } as const;

const chemicals = [
  "Read the maker's label of every buffer, standard, storage and cleaning liquid first, and keep to it.",
  'Gloves and eye protection; keep them from children and pets; never mix them or pour used liquid back.',
  'Rinse the probe with pure water before it returns to the aquarium.',
] as const;

/** What can go wrong while a probe is in the hand. Cautions of the trade; the maker's label stands above them. */
function Cautions({ way }: { way: ProbeDetail['way'] }) {
  return (
    <ul class="cautions" aria-label="Cautions">
      <li>If a controller doses, heats or fills by this probe, switch that off until it is back in the water.</li>
      <li>Keep plugs and mains away from salt water and wet hands.</li>
      {way !== 'linear' && chemicals.map((words) => <li key={words}>{words}</li>)}
    </ul>
  );
}

/** One probe: what it says now, its calibration step by step, and those before. */
export function ProbePage({ id, zone }: { id: string; zone: string }) {
  const { answer: probe, failure, again } = useAnswer('GET /api/probes/:id', { params: { id } }, askEveryMs);
  const history = useAnswer('GET /api/calibrations', { query: { probe: id } }, askHistoryEveryMs);
  const changed = () => {
    again();
    history.again();
  };
  const Calibrator = probe === undefined ? undefined : calibrators[probe.way];
  const state = probe === undefined ? undefined : probeState(probe, nowMs.value);
  return (
    <main class="page page-probe">
      <nav class="way-back" aria-label="Way back">
        <a href="#/probes">‹ Probes</a>
      </nav>
      <h2 tabIndex={-1} data-view-title>
        {probe === undefined ? id : `${probeName(probe)}, ${probe.systemName}`}
      </h2>
      {failure !== undefined && (
        <p role="status">
          {probe === undefined ? 'The hub does not answer, or has no such probe.' : 'The hub does not answer just now.'}
        </p>
      )}
      {probe !== undefined && Calibrator !== undefined && state !== undefined && (
        <>
          <p class={`probe-now row-is-${state.order}`}>
            <b class="probe-value">{shownText(probe)}</b>{' '}
            <span class="row-state">
              <StateShape order={state.order} /> {state.words}
            </span>{' '}
            <span>{calibrationWords(probe, nowMs.value)}</span>
          </p>
          {probe.way === 'ph' && (
            <p>
              <a href={`#/titrate/${encodeURIComponent(probe.system)}`}>Titrate alkalinity with it</a>
            </p>
          )}
          <Maintenance probe={probe} zone={zone} changed={changed} />
          <Cautions way={probe.way} />
          <div class="calibrating">
            <Calibrator probe={probe} changed={changed} />
          </div>
          {history.answer !== undefined && (
            <CalibrationHistory calibrations={history.answer.calibrations} zone={zone} changed={changed} />
          )}
        </>
      )}
    </main>
  );
}
