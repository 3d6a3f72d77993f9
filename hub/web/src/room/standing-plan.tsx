import { useState } from 'preact/hooks';
import type { SystemView } from '../../../api/room.ts';
import { numberIn } from '../kit/number-in.ts';
import { momentText } from '../kit/times.ts';
import { enter, newKey, takeBack } from '../kit/unsent.ts';

type Plan = SystemView['plans'][number];
/** As the API has it: one dose each five minutes. */
const mostDosesPerDay = 288;

type Said = { text: string; undo?: number };

function planText({ mlPerDay, timesPerDay }: { mlPerDay: number; timesPerDay: number }): string {
  if (mlPerDay === 0) return 'nothing';
  return `${Number(mlPerDay.toFixed(2))} mL a day${timesPerDay > 1 ? ` in ${timesPerDay} doses` : ''}`;
}

/** Changes what is given of a stock every day; the number is filled in and the person still says so. */
export function PlanForm({
  system,
  stock,
  suggested,
}: {
  system: SystemView;
  stock: { id: string; name: string };
  /** What is filled in beforehand; nothing for the first plan of a stock. */
  suggested: { mlPerDay: number; timesPerDay: number } | undefined;
}) {
  const [value, setValue] = useState(suggested === undefined ? '' : String(Number(suggested.mlPerDay.toFixed(2))));
  const [times, setTimes] = useState(String(suggested?.timesPerDay ?? 1));
  const [said, setSaid] = useState<Said | undefined>(undefined);
  const [key, setKey] = useState(newKey);
  const now = system.plans.find((plan) => plan.stock === stock.id);
  const id = `${system.id}-plan-${stock.id}`;

  async function send(): Promise<void> {
    const mlPerDay = numberIn(value);
    const timesPerDay = numberIn(times);
    if (mlPerDay === undefined || mlPerDay < 0) {
      setSaid({ text: 'Enter how many millilitres a day; 0 ends it.' });
      return;
    }
    if (
      timesPerDay === undefined ||
      !Number.isInteger(timesPerDay) ||
      timesPerDay < 1 ||
      timesPerDay > mostDosesPerDay
    ) {
      setSaid({ text: `Enter how many doses a day, 1 to ${mostDosesPerDay}.` });
      return;
    }
    const body = { system: system.id, stock: stock.id, ml_per_day: mlPerDay, times_per_day: timesPerDay };
    const outcome = await enter('plan', body, `Plan: ${stock.name} ${value} mL a day`, key);
    setKey(newKey());
    if (outcome.is === 'stored')
      setSaid({
        text: `The plan is ${planText({ mlPerDay, timesPerDay })} from now on.`,
        undo: outcome.id,
      });
    else if (outcome.is === 'kept')
      setSaid({ text: 'The hub does not answer. The change is kept on this device and sent when the hub is back.' });
    else setSaid({ text: outcome.text });
  }

  async function undo(entry: number): Promise<void> {
    setSaid({ text: (await takeBack(entry)) ?? 'Taken back: the plan is what it was.' });
  }

  const undoId = said?.undo;
  return (
    <form
      class="enter"
      aria-label={`Plan of ${stock.name}, ${system.name}`}
      onSubmit={(event) => {
        event.preventDefault();
        void send();
      }}
    >
      <p>
        {stock.name}: the plan is {now === undefined ? 'nothing' : planText(now)}. Set the pump as well, or dose by
        hand: the hub drives no pump.
      </p>
      <div class="fields">
        <label for={id} class="field-value">
          New plan, mL a day
          <input
            id={id}
            inputMode="decimal"
            autocomplete="off"
            value={value}
            onInput={(event) => {
              setValue(event.currentTarget.value);
              setSaid(undefined);
            }}
          />
        </label>
        <label for={`${id}-times`} class="field-hours">
          Doses a day
          <input
            id={`${id}-times`}
            inputMode="numeric"
            autocomplete="off"
            value={times}
            onInput={(event) => {
              setTimes(event.currentTarget.value);
              setSaid(undefined);
            }}
          />
        </label>
        <button type="submit" class="primary">
          {now === undefined ? 'Save the plan' : 'Change the plan'}
        </button>
      </div>
      <p class={`answer answer-${said === undefined ? 'none' : 'good'}`} role="status">
        {said?.text}{' '}
        {undoId !== undefined && (
          <button type="button" onClick={() => void undo(undoId)}>
            Take it back
          </button>
        )}
      </p>
    </form>
  );
}

/** By a person's word another plan than that of the configuration. */
function isOther({ changedMs, configured, mlPerDay, timesPerDay }: Plan): boolean {
  return (
    changedMs !== null && (mlPerDay !== configured.mlPerDay || (mlPerDay > 0 && timesPerDay !== configured.timesPerDay))
  );
}

function PlanItem({ system, plan, zone }: { system: SystemView; plan: Plan; zone: string }) {
  const [isOpen, setOpen] = useState(false);
  const [failure, setFailure] = useState('');
  const isChanged = isOther(plan);
  async function goBack(): Promise<void> {
    const { mlPerDay, timesPerDay } = plan.configured;
    const body = { system: system.id, stock: plan.stock, ml_per_day: mlPerDay, times_per_day: timesPerDay };
    const outcome = await enter('plan', { ...body, configured: true }, `Plan: ${plan.name} as configured`, newKey());
    setFailure(outcome.is === 'asked' || outcome.is === 'refused' ? outcome.text : '');
  }
  return (
    <li data-stock={plan.stock}>
      <p>
        <strong>{plan.name}</strong>: {planText(plan)}
        {plan.changedMs !== null && isChanged && (
          <small>
            {' '}
            changed {momentText(plan.changedMs, zone)}; the configuration says {planText(plan.configured)}
          </small>
        )}
      </p>
      <div class="buttons">
        <button type="button" aria-expanded={isOpen} onClick={() => setOpen(!isOpen)}>
          Other plan
        </button>
        {plan.changedMs !== null && isChanged && (
          <button type="button" onClick={() => void goBack()}>
            Back to the configuration
          </button>
        )}
      </div>
      {isOpen && <PlanForm system={system} stock={{ id: plan.stock, name: plan.name }} suggested={plan} />}
      {failure !== '' && <p role="alert">{failure}</p>}
    </li>
  );
}

/** What is given of a stock every day without a plan, as its doses were logged and advice reckons; 0 when it is not known. */
function loggedPerDay(system: SystemView, stock: string): number {
  const changes = system.advice.flatMap(({ advice }) => advice.plan);
  return changes.find(({ product }) => product?.id === stock)?.before.amountPerDay ?? 0;
}

/** A stock that has no plan. */
function FirstPlan({ system, stock }: { system: SystemView; stock: { id: string; name: string } }) {
  const logged = loggedPerDay(system, stock.id);
  const [isOpen, setOpen] = useState(false);
  return (
    <li data-stock={stock.id}>
      <p>
        <strong>{stock.name}</strong>:{' '}
        {logged === 0 ? 'no daily dose' : `about ${Number(logged.toFixed(1))} mL a day as logged, no plan`}
      </p>
      <div class="buttons">
        <button type="button" aria-expanded={isOpen} onClick={() => setOpen(!isOpen)}>
          Set up a plan
        </button>
      </div>
      {isOpen && <PlanForm system={system} stock={stock} suggested={undefined} />}
    </li>
  );
}

/** What is given every day: by the configuration, or by what a person changed here. */
export function StandingPlans({ system, zone }: { system: SystemView; zone: string }) {
  if (system.stocks.length === 0) return null;
  const without = system.stocks.filter(({ id }) => !system.plans.some(({ stock }) => stock === id));
  const running = system.plans.filter(({ mlPerDay }) => mlPerDay > 0);
  // A plan of nothing is none: what is given beside it is given as logged.
  const byHand = system.stocks.filter(({ id }) => !running.some(({ stock }) => stock === id));
  const given = [
    ...running.map((plan) => `${plan.name} ${planText(plan)}`),
    ...byHand
      .map(({ id, name }) => ({ name, ml: loggedPerDay(system, id) }))
      .filter(({ ml }) => ml > 0)
      .map(({ name, ml }) => `${name} about ${Number(ml.toFixed(1))} mL a day as logged`),
  ];
  return (
    <details class="plans" open={system.plans.some(isOther)}>
      <summary>Daily dosing: {given.join(', ') || (system.plans.length === 0 ? 'no plan yet' : 'no plan')}</summary>
      <ul>
        {system.plans.map((plan) => (
          <PlanItem key={plan.stock} system={system} plan={plan} zone={zone} />
        ))}
        {without.map((stock) => (
          <FirstPlan key={stock.id} system={system} stock={stock} />
        ))}
      </ul>
    </details>
  );
}
