import type { ComponentChildren } from 'preact';
import { useState } from 'preact/hooks';
import type { ProbeDetail } from '../../../api/probes.ts';
import { type Findings, KeepCalibration } from './keep-calibration.tsx';
import { type Point, TakenPoints, TakeValue } from './taken-points.tsx';

/**
 * The three steps of every calibration: into something known, what was taken of it, the verdict. What is known and how
 * it is asked for differs, and is the children's.
 */
export function CalibrationSteps({
  probe,
  title,
  take,
  points,
  leave,
  told,
  entry,
  changed,
  children,
}: {
  probe: ProbeDetail;
  title: string;
  /** Takes what is heard now; what it says is shown to the person. */
  take: () => string;
  points: readonly Point[];
  /** Leaves one out, or all when it is kept. */
  leave: (index: number | 'all') => void;
  /** What the points say already. */
  told?: ComponentChildren;
  /** What is to be kept; undefined while nothing is taken. */
  entry: Findings | undefined;
  changed: () => void;
  children: ComponentChildren;
}) {
  const [hint, setHint] = useState('');
  return (
    <>
      <section class="step" aria-labelledby="step-known">
        <h3 id="step-known">{title}</h3>
        {children}
        <TakeValue probe={probe} take={() => setHint(take())} />
        {hint !== '' && <p role="alert">{hint}</p>}
      </section>
      <section class="step" aria-labelledby="step-taken">
        <h3 id="step-taken">Taken</h3>
        <TakenPoints points={points} remove={leave} />
        {told}
      </section>
      <KeepCalibration
        probe={probe}
        entry={entry}
        kept={() => {
          leave('all');
          changed();
        }}
      />
    </>
  );
}
