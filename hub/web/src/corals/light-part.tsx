import { useState } from 'preact/hooks';
import type { ArrivalAnswer } from '../../../api/arrivals.ts';
import { askRoute } from '../kit/ask.ts';
import { momentText } from '../kit/times.ts';
import { useAnswer } from '../kit/use-answer.ts';
import { Asked, Cautions, Choice, NumberField, Submit } from './fields.tsx';
import { checked, given, useForm } from './form.ts';
import type { PartProps } from './pest-part.tsx';

type Light = NonNullable<ArrivalAnswer['light']>;

/** The rack's way up, a step for each day: what was is solid, what is to come hatched, today between two bars. */
function Stairs({ light }: { light: Light }) {
  const most = Math.max(...light.days.map(({ dli }) => dli));
  return (
    <div class="stairs" aria-hidden="true">
      {light.days.map(({ day, dli }) => {
        const name = day < light.today ? 'stair-was' : day === light.today ? 'stair-today' : 'stair-ahead';
        return <span key={day} class={name} style={{ height: `${(100 * dli) / most}%` }} />;
      })}
    </div>
  );
}

/** Another lamp over the rack: the plan goes on from the light that its pieces had. */
function OtherLamp({ arrival, know }: PartProps) {
  const { id, system } = arrival;
  const form = useForm(`light-lamp.${id}`, {});
  const { answer } = useAnswer('GET /api/light/:system', { params: { system } }, 300_000);
  if (answer === undefined || answer.lamp === null) return null;

  async function redo(): Promise<void> {
    const told = await form.submit('POST /api/light/:system/arrivals/:id', { params: { system, id } });
    if (told === undefined) return;
    const fresh = await askRoute('GET /api/arrivals/:id', { params: { id } });
    if (fresh.ok) know(fresh.body);
  }

  return (
    <Asked label="New lamp or new hours" onSend={() => void redo()} isBusy={form.isBusy}>
      <p>Lamp: {answer.lamp.name}. New lamp or new hours since this plan was made?</p>
      <Submit form={form} words="Redo for this lamp" isQuiet />
    </Asked>
  );
}

function Plan({ arrival, light, zone, know }: PartProps & { light: Light }) {
  const form = useForm(`light-change.${arrival.id}`, { by_days: '3', for_days: '3' });
  const today = light.days.find(({ day }) => day === light.today);
  const before = light.days.find(({ day }) => day === light.today - 1);

  async function change(what: 'moved' | 'hold' | 'step-back', body: Record<string, unknown>): Promise<void> {
    const hints = [
      [/to hold/, 'for_days'],
      [/step back|day of the plan/, 'by_days'],
    ] as const;
    const told = await form.submit(`POST /api/arrivals/:id/light/${what}`, { params: { id: arrival.id }, body }, hints);
    if (told !== undefined) know(told);
  }

  function hold(): void {
    const check = checked(form);
    const for_days = check.neededNumber('for_days', 'Enter for how many days.');
    if (check.isGood()) void change('hold', { for_days });
  }

  function stepBack(): void {
    const check = checked(form);
    const for_days = check.neededNumber('for_days', 'Enter for how many days.');
    const by_days = check.neededNumber('by_days', 'Enter how many days back.');
    if (check.isGood()) void change('step-back', { by_days, for_days });
  }

  return (
    <>
      {today === undefined ? (
        <p class="said">
          {light.today < 1 ? `The plan begins on ${light.days[0]?.date}.` : 'The plan is done: leave the rack.'}
        </p>
      ) : (
        <div class="rack">
          <p class="amount">
            <b>{today.height_cm} cm</b> above the sand
          </p>
          <p>
            Day {today.day} of {light.days.length}, PAR {today.par.toFixed(0)}
            {before !== undefined && `, yesterday ${before.height_cm} cm`}
          </p>
          {light.is_moved_today && light.moved !== null ? (
            <p class="said">Set today, {momentText(Date.parse(light.moved), zone)}.</p>
          ) : (
            <button type="button" class="primary" onClick={() => void change('moved', {})}>
              Moved it to {today.height_cm} cm
            </button>
          )}
        </div>
      )}
      <Stairs light={light} />
      <Asked label="A piece looks pale" onSend={hold} isBusy={form.isBusy}>
        <p>A piece looks pale?</p>
        <div class="asked-row">
          <NumberField form={form} name="for_days" label="Hold for, days" />
          <NumberField form={form} name="by_days" label="Go back, days" />
        </div>
        <div class="buttons">
          <Submit form={form} words="Hold" isQuiet />
          <button type="button" onClick={stepBack}>
            Step back
          </button>
        </div>
      </Asked>
      <OtherLamp arrival={arrival} zone={zone} know={know} />
      <Cautions texts={light.cautions} />
      <details>
        <summary>All {light.days.length} days</summary>
        <table>
          <thead>
            <tr>
              <th scope="col">Date</th>
              <th scope="col">Height, cm</th>
              <th scope="col">PAR, µmol/m²/s</th>
              <th scope="col">Per day, mol/m²</th>
            </tr>
          </thead>
          <tbody>
            {light.days.map((day) => (
              <tr key={day.day} {...(day.day === light.today ? { 'aria-current': 'date' as const } : {})}>
                <td>{day.date}</td>
                <td>{day.height_cm}</td>
                <td>{day.par.toFixed(0)}</td>
                <td>{day.dli.toFixed(1)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </details>
    </>
  );
}

function LayPlan({ arrival, know }: PartProps) {
  const [rows, setRows] = useState(3);
  const form = useForm(`light.${arrival.id}`, {
    full_hours: '8',
    ramp_up_hours: '1',
    ramp_down_hours: '1',
    start: '',
    target: '',
    days: '21',
    steps: 'equal_steps',
    ...Object.fromEntries([0, 1, 2].flatMap((row) => [`height_cm.${row}`, `par.${row}`].map((name) => [name, '']))),
  });

  async function lay(): Promise<void> {
    const check = checked(form);
    const pairs = Array.from({ length: rows }, (_, row) => {
      const [height_cm, par] = [check.number(`height_cm.${row}`), check.number(`par.${row}`)];
      if (height_cm === undefined && par === undefined) return undefined;
      if (height_cm === undefined) check.wrong(`height_cm.${row}`, 'Enter the height of this measurement.');
      if (par === undefined) check.wrong(`par.${row}`, 'Enter the PAR measured there.');
      return { height_cm, par };
    }).filter((pair) => pair !== undefined);
    if (pairs.length < 2) check.wrong('par.0', 'Measure PAR at two heights or more.');
    const target = check.neededNumber('target', 'Enter the PAR of their final place.');
    const start = check.number('start');
    const body = given({
      profile: { pairs },
      day: given({
        full_hours: check.neededNumber('full_hours', 'Enter the hours at full light.'),
        ramp_up_hours: check.number('ramp_up_hours'),
        ramp_down_hours: check.number('ramp_down_hours'),
      }),
      target: { par: target },
      start: start === undefined ? undefined : { par: start },
      days: check.number('days'),
      steps: form.values['steps'],
    });
    if (!check.isGood()) return;
    const hints = [
      [/start/, 'start'],
      [/target/, 'target'],
      [/days of the plan/, 'days'],
      [/hours/, 'full_hours'],
      [/height|PAR|places|pairs/, 'par.0'],
    ] as const;
    const told = await form.submit('POST /api/arrivals/:id/light', { params: { id: arrival.id }, body }, hints);
    if (told === undefined) return;
    form.clear();
    know(told);
  }

  return (
    <Asked label="Light plan" onSend={() => void lay()} isBusy={form.isBusy}>
      <p>Measure PAR at two heights or more, and where the corals will end up. The rack rises a little each day.</p>
      <fieldset class="rows-asked">
        <legend>PAR at full light</legend>
        {Array.from({ length: rows }, (_, row) => (
          <div key={row} class="asked-row">
            <NumberField form={form} name={`height_cm.${row}`} label={`Height ${row + 1} above the sand, cm`} />
            <NumberField form={form} name={`par.${row}`} label={`PAR ${row + 1}, µmol/m²/s`} />
          </div>
        ))}
        {rows < 8 && (
          <button type="button" onClick={() => setRows(rows + 1)}>
            Another height
          </button>
        )}
      </fieldset>
      <div class="asked-row">
        <NumberField form={form} name="start" label="First PAR (lowest point if empty)" />
        <NumberField form={form} name="target" label="Last PAR" />
        <NumberField form={form} name="days" label="Days" />
        <Choice
          form={form}
          name="steps"
          label="Each day"
          options={[
            { id: 'equal_steps', words: 'the same step' },
            { id: 'equal_ratios', words: 'the same percentage' },
          ]}
        />
      </div>
      <div class="asked-row">
        <NumberField form={form} name="full_hours" label="Full light, hours" />
        <NumberField form={form} name="ramp_up_hours" label="Ramp up, hours" />
        <NumberField form={form} name="ramp_down_hours" label="Ramp down, hours" />
      </div>
      <Submit form={form} words="Make the plan" />
    </Asked>
  );
}

/** The light plan: where the rack stands today, and what to do when a piece pales. */
export function LightPart(props: PartProps) {
  const { light } = props.arrival;
  return (
    <section class="part" aria-labelledby="light">
      <h3 id="light">Light</h3>
      {light !== null && <Plan {...props} light={light} />}
      <details>
        <summary>{light === null ? 'Make a plan' : 'Make another plan'}</summary>
        <LayPlan {...props} />
      </details>
    </section>
  );
}
