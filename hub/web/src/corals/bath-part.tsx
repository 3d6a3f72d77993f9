import { Fragment } from 'preact';
import type { MatchAnswer } from '../../../api/batches.ts';
import type { BathAnswer, RunAnswer } from '../../../api/runs.ts';
import { askRoute } from '../kit/ask.ts';
import { withUnit } from '../room/read-unit.ts';
import { typedAsNamed } from '../room/typed-units.ts';
import { Differences } from './bag-part.tsx';
import { Asked, NumberField, Submit, VerdictShape, Warnings } from './fields.tsx';
import { checked, given, useForm } from './form.ts';

const byWords = {
  probes: 'by the probes in it',
  test: 'as you measured it',
  mixture: 'worked out from tank and bags',
  nothing: 'not known',
} as const;

/** How much of what: large enough to be read from the tap. */
function Amounts({ bath, kind }: { bath: BathAnswer; kind: string | undefined }) {
  const isBefore = kind === 'dip_bath' || kind === 'soak';
  return (
    <dl class="amounts">
      {isBefore && (
        <>
          <dt>from the tank</dt>
          <dd>{bath.tank_l.toFixed(2)} L</dd>
          <dt>from the bags</dt>
          <dd>{bath.bag_l.toFixed(2)} L</dd>
          {bath.reagents.map(({ name, volume_ml }) => (
            <Fragment key={name}>
              <dt>{name}</dt>
              <dd>{volume_ml.toFixed(1)} mL</dd>
            </Fragment>
          ))}
        </>
      )}
      {bath.rinse_l > 0 && (
        <>
          <dt>new water for the rinse</dt>
          <dd>{bath.rinse_l.toFixed(2)} L</dd>
        </>
      )}
      <dt>new water back into the tank</dt>
      <dd>{bath.replace_l.toFixed(2)} L</dd>
    </dl>
  );
}

/** Whether new water may be used, metric by metric. */
export function Match({ match }: { match: MatchAnswer }) {
  return (
    <>
      <p class="said" role="status">
        {match.is_ready ? 'It matches its tank.' : 'It does not match its tank yet.'}
      </p>
      <ul class="differences">
        {match.metrics.map(({ metric, verdict, text }) => (
          <li key={metric}>
            <VerdictShape is={verdict === 'matches' ? 'matches' : verdict === 'differs' ? 'differs' : 'not_known'} />
            <span class="whole">{text}</span>
          </li>
        ))}
      </ul>
    </>
  );
}

function Measure({ run, know }: { run: RunAnswer; know(run: RunAnswer): void }) {
  const form = useForm(
    `bath.${run.id}`,
    {
      temperature: '',
      salinity: '',
      ph: '',
      'bag.temperature': '',
      'bag.salinity': '',
      'bag.ph': '',
    },
    typedAsNamed,
  );

  async function store(): Promise<void> {
    const check = checked(form);
    const felt = (before: string) =>
      given(
        Object.fromEntries(['temperature', 'salinity', 'ph'].map((name) => [name, check.number(before + name, name)])),
      );
    const bath = felt('');
    const bag = felt('bag.');
    if (Object.keys(bath).length + Object.keys(bag).length === 0)
      check.wrong('temperature', 'Measure the bath, or the bags.');
    if (!check.isGood()) return;
    const at = { run: run.id };
    const hints = [
      [/bag.*temperature/i, 'bag.temperature'],
      [/temperature/i, 'temperature'],
      [/salinity/i, 'salinity'],
      [/ph/i, 'ph'],
    ] as const;
    const body = Object.keys(bag).length === 0 ? bath : { ...bath, bag };
    const told = await form.submit('POST /api/runs/:run/bath-water', { params: at, body }, hints);
    if (told === undefined) return;
    const next = await askRoute('GET /api/runs/:run', { params: at });
    // The figures stay to be seen and mended; the draft on the device goes.
    form.clear(form.values);
    if (next.ok) know(next.body);
  }

  return (
    <Asked label="What you measured" onSend={() => void store()} isBusy={form.isBusy}>
      <div class="asked-row">
        <NumberField form={form} name="temperature" label={withUnit('Bath', 'temperature')} />
        <NumberField form={form} name="salinity" label={withUnit('Bath salinity', 'salinity')} />
        <NumberField form={form} name="ph" label="Bath pH" />
      </div>
      <div class="asked-row">
        <NumberField form={form} name="bag.temperature" label={withUnit('Bags', 'temperature')} />
        <NumberField form={form} name="bag.salinity" label={withUnit('Bag salinity', 'salinity')} />
        <NumberField form={form} name="bag.ph" label="Bag pH" />
      </div>
      <Submit form={form} words="Measured" isQuiet />
    </Asked>
  );
}

/** What is odd about this very bath, such as a dose outside its label; what holds for every dip stands with the cautions. */
function ofThisBath(bath: BathAnswer, said: readonly string[]): string[] {
  return bath.cautions.filter((caution) => !said.includes(caution));
}

/** The water of the step at hand: what goes into it, what was measured, and whether it would be a shock. */
export function BathPart(props: { run: RunAnswer; said: readonly string[]; know(run: RunAnswer): void }) {
  const { run, said, know } = props;
  const { bath, bath_check: check, new_water: match } = run;
  const kind = run.steps[run.step - 1]?.step;
  if (bath === null && match === null) return null;
  const isBefore = kind === 'dip_bath' || kind === 'soak';
  return (
    <section class="part" aria-labelledby="bath">
      <h3 id="bath">{kind === 'rinse_bath' || kind === 'swirl_and_rinse_off' ? 'Rinse' : 'Bath'}</h3>
      {bath !== null && isBefore && <Warnings texts={ofThisBath(bath, said)} />}
      {bath !== null && <Amounts bath={bath} kind={kind} />}
      {match !== null && <Match match={match} />}
      {check !== null && (
        <>
          <p class="aside">Water of the bath, {byWords[check.by]}:</p>
          <Differences shock={check.to_tank} from="bath" to="tank" />
          {check.from_bag !== null && <Differences shock={check.from_bag} from="bag" to="bath" />}
          <Measure run={run} know={know} />
        </>
      )}
    </section>
  );
}
