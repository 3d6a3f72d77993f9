import { useState } from 'preact/hooks';
import type { DeclineReason } from '../../../api/advice.ts';
import type { AdviceView, SystemView } from '../../../api/room.ts';
import { newKey } from '../kit/unsent.ts';
import { WhoField, whoHere } from '../kit/who.tsx';
import { EntryForm } from './entry-form.tsx';
import { change } from './room-signals.ts';
import { PlanForm } from './standing-plan.tsx';

type Item = SystemView['advice'][number];

export const reasonWords: Record<DeclineReason, string> = {
  test_first: 'I’ll retest first',
  too_much: 'It seems too much',
  other_means: 'I’ll do something else',
  cause_known: 'I know the cause, and it will pass',
  later: 'Later',
  other: 'Another reason',
};

function Decline({ system, item }: { system: SystemView; item: Item }) {
  const [reason, setReason] = useState<DeclineReason>('test_first');
  const [note, setNote] = useState('');
  const [failure, setFailure] = useState('');
  const [key] = useState(newKey);
  const id = (part: string) => `${system.id}-${item.analyte}-decline-${part}`;
  async function send(): Promise<void> {
    if (reason === 'other' && note.trim() === '') {
      setFailure('Enter the reason.');
      return;
    }
    const said = note.trim() === '' ? undefined : note.trim();
    const body = { system: system.id, analyte: item.analyte, reason, note: said, by: whoHere(), key };
    const answer = await change('POST /api/advice/decline', { body });
    setFailure(answer.ok ? '' : `${answer.problem.title}. ${answer.problem.detail}`);
  }
  return (
    <form
      class="enter"
      aria-label={`Decline, ${item.analyte}`}
      onSubmit={(event) => {
        event.preventDefault();
        void send();
      }}
    >
      <div class="fields">
        <label for={id('reason')}>
          Reason
          <select
            id={id('reason')}
            value={reason}
            onChange={(event) => setReason(event.currentTarget.value as DeclineReason)}
          >
            {Object.entries(reasonWords).map(([name, words]) => (
              <option key={name} value={name}>
                {words}
              </option>
            ))}
          </select>
        </label>
        <label for={id('note')}>
          In your words
          <input
            id={id('note')}
            autocomplete="off"
            maxLength={500}
            value={note}
            onInput={(event) => setNote(event.currentTarget.value)}
          />
        </label>
        <WhoField id={id('who')} />
        <button type="submit" class="primary">
          Decline
        </button>
      </div>
      {failure !== '' && <p role="alert">{failure}</p>}
    </form>
  );
}

/** Shows declined advice again. */
export function Resume({ system, item }: { system: SystemView; item: Item }) {
  const [failure, setFailure] = useState('');
  async function send(): Promise<void> {
    const body = { system: system.id, analyte: item.analyte, by: whoHere(), key: newKey() };
    const answer = await change('POST /api/advice/resume', { body });
    setFailure(answer.ok ? '' : `${answer.problem.title}. ${answer.problem.detail}`);
  }
  return (
    <>
      <button type="button" onClick={() => void send()}>
        Take it up again
      </button>
      {failure !== '' && <p role="alert">{failure}</p>}
    </>
  );
}

/** What a person can say to advice: it was given, it becomes the plan, or it is not done and why. */
export function Answers({ system, item }: { system: SystemView; item: Item }) {
  const [open, setOpen] = useState<'given' | 'plan' | 'decline' | undefined>(undefined);
  const { advice } = item;
  const today = advice.today.find(({ unit }) => unit === 'mL');
  const plan = advice.plan.find(({ unit }) => unit === 'mL');
  const stockOf = (dose: AdviceView['today'][number] | undefined) =>
    system.stocks.find(({ id }) => id === dose?.product?.id);
  const stockToday = stockOf(today);
  const stock = stockOf(plan);
  const amount = today?.largestDose === undefined ? undefined : String(Number(today.largestDose.toFixed(2)));
  const toggle = (which: 'given' | 'plan' | 'decline', words: string) => (
    <button type="button" aria-expanded={open === which} onClick={() => setOpen(open === which ? undefined : which)}>
      {words}
    </button>
  );
  return (
    <>
      <div class="buttons">
        {stockToday !== undefined && amount !== undefined && toggle('given', 'I gave a dose')}
        {stock !== undefined &&
          plan?.amountPerDay !== undefined &&
          toggle('plan', `Change the plan to ${Number(plan.amountPerDay.toFixed(2))} mL a day`)}
        {toggle('decline', 'I won’t do this')}
      </div>
      {open === 'given' && stockToday !== undefined && amount !== undefined && (
        <EntryForm system={system} kind="dose" start={{ what: stockToday.id, value: amount }} />
      )}
      {open === 'plan' && stock !== undefined && plan?.amountPerDay !== undefined && (
        <PlanForm
          system={system}
          stock={stock}
          suggested={{ mlPerDay: plan.amountPerDay, timesPerDay: Math.max(1, plan.dosesPerDay) }}
        />
      )}
      {open === 'decline' && <Decline system={system} item={item} />}
    </>
  );
}
