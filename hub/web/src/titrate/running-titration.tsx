import { useState } from 'preact/hooks';
import type { TitrationAnswer } from '../../../api/titrations.ts';
import { Asked, Cautions, Failure, NumberField, Submit, Twice, Warnings } from '../corals/fields.tsx';
import { checked, useForm } from '../corals/form.ts';
import { send } from '../corals/hub-ask.ts';
import { useAnswer } from '../kit/use-answer.ts';
import { whoHere } from '../kit/who.tsx';
import { ResultSoFar } from './result-so-far.tsx';

const probeWords = { silent: 'no signal', too_few: 'wait', moving: 'still moving', at_rest: 'steady' } as const;

/** The one thing to do now, for wet hands; the curve and what is known so far stand below. */
export function RunningTitration({
  id,
  ended,
}: {
  id: string;
  /** It is over; with what was saved, if anything was. */
  ended: (saved?: string) => void;
}) {
  const params = { id };
  const { answer: run, failure, know } = useAnswer('GET /api/titrations/:id', { params }, 1000);
  const [trouble, setTrouble] = useState('');

  async function post(name: 'POST /api/titrations/:id/undo' | 'POST /api/titrations/:id/go-on'): Promise<void> {
    const answer = await send(name, { params });
    setTrouble(answer.ok ? '' : answer.problem.detail);
    if (answer.ok) know(answer.body);
  }

  async function finish(): Promise<void> {
    const answer = await send('POST /api/titrations/:id/finish', { params, body: { by: whoHere() } });
    setTrouble(answer.ok ? '' : answer.problem.detail);
    if (answer.ok) ended(`${answer.body.saved} ± ${answer.body.half_width95_dkh.toFixed(2)} dKH (95 %)`);
  }

  async function giveUp(): Promise<void> {
    const answer = await send('POST /api/titrations/:id/give-up', { params });
    setTrouble(answer.ok ? '' : answer.problem.detail);
    if (answer.ok) ended();
  }

  if (run === undefined) return <Failure text={failure} />;
  return (
    <div class="parts">
      <section class="at-hand part" aria-label="Step at hand">
        <p class="at-hand-place">
          {run.added} {run.acid_unit} of acid in, {run.portions} {run.portions === 1 ? 'portion' : 'portions'}
        </p>
        <p class="sentence" role="status">
          {run.say}
        </p>
        <ProbeNow run={run} />
        <Failure text={failure} />
        {run.deed.do === 'add' && <AddAcid key={`${run.portions}`} run={run} know={know} />}
        {(run.deed.do === 'stop' || run.answer !== null) && (
          <button
            type="button"
            class={run.deed.do === 'stop' ? 'wide primary' : ''}
            disabled={run.answer === null}
            onClick={() => void finish()}
          >
            {run.deed.do === 'stop' ? 'Save the result' : 'Save what is known so far'}
          </button>
        )}
        {trouble !== '' && (
          <p class="asked-error" role="alert">
            {trouble}
          </p>
        )}
        <Warnings texts={run.warnings.map(({ say }) => say)} />
        <div class="buttons">
          {run.co2?.is_waiting === true && (
            <Twice
              words="Don’t wait"
              sure="Go on with CO2 still in it"
              onSure={() => void post('POST /api/titrations/:id/go-on')}
            />
          )}
          {run.portions > 0 && (
            <Twice
              words="Last amount was wrong"
              sure="Take it back"
              onSure={() => void post('POST /api/titrations/:id/undo')}
            />
          )}
          <Twice words="Give up" sure="Yes, discard it" onSure={() => void giveUp()} />
        </div>
      </section>
      <ResultSoFar run={run} />
      <Cautions texts={run.cautions} />
    </div>
  );
}

function ProbeNow({ run: { probe_now } }: { run: TitrationAnswer }) {
  const { state, ph, change_ph } = probe_now;
  return (
    <p class="titrate-probe" data-probe={state}>
      <b>{ph === null ? '–' : ph.toFixed(2)}</b> <span>pH, {probeWords[state]}</span>
      {state === 'moving' && change_ph !== null && (
        <small>
          {change_ph > 0 ? '+' : ''}
          {change_ph.toFixed(3)} in ten seconds
        </small>
      )}
    </p>
  );
}

/** The amount stands there as told; another one is typed over it. */
function AddAcid({ run, know }: { run: TitrationAnswer; know(run: TitrationAnswer): void }) {
  const told = run.deed.do === 'add' ? run.deed.amount : 0;
  const form = useForm(`acid.${run.id}.${run.portions}`, { amount: '' });
  const typed = (form.values['amount'] ?? '').trim();

  async function added(): Promise<void> {
    const check = checked(form);
    const amount = check.number('amount') ?? told;
    if (amount <= 0) check.wrong('amount', 'Enter more than 0.');
    if (!check.isGood()) return;
    const body = { amount, key: form.key };
    const answer = await form.submit('POST /api/titrations/:id/acid', { params: { id: run.id }, body });
    if (answer === undefined) return;
    form.clear();
    know(answer);
  }

  return (
    <Asked label="Acid" onSend={() => void added()} isBusy={form.isBusy}>
      <div class="wide-submit">
        <Submit form={form} words={`${typed === '' ? told : typed} ${run.acid_unit} is in`} />
      </div>
      <details open={typed !== ''}>
        <summary>Another amount went in</summary>
        <NumberField form={form} name="amount" label={`This portion, ${run.acid_unit}`} isLarge />
      </details>
    </Asked>
  );
}
