import { useState } from 'preact/hooks';
import type { BagAnswer } from '../../../api/arrivals.ts';
import type { ShockAnswer } from '../../../api/runs.ts';
import { readNumber, withUnit } from '../room/read-unit.ts';
import { typedAsNamed } from '../room/typed-units.ts';
import { Asked, NumberField, Submit, VerdictShape, Warnings } from './fields.tsx';
import { checked, given, useForm } from './form.ts';

const metricWords = (metric: string) => (metric === 'ph' ? 'pH' : withUnit(metric, metric));

/** Each difference with its verdict in a word and a shape. */
export function Differences({ shock, from, to }: { shock: ShockAnswer; from: string; to: string }) {
  const unknown = shock.unknown.map(metricWords);
  return (
    <ul class="differences">
      {shock.differences.map((each) => (
        <li key={each.metric}>
          <VerdictShape is={each.is_large ? 'differs' : 'matches'} />
          <span>{metricWords(each.metric)}</span>
          <span class="figure">
            {from} {readNumber(each.metric, each.from, each.metric === 'ph' ? 2 : 1)} to {to}{' '}
            {readNumber(each.metric, each.to, each.metric === 'ph' ? 2 : 1)}
          </span>
          <b>{each.is_large ? 'a shock' : 'bearable'}</b>
        </li>
      ))}
      {unknown.length > 0 && (
        <li>
          <VerdictShape is="not_known" />
          <span>{unknown.join(', ')}</span>
          <span class="figure">not measured</span>
          <b>not known</b>
        </li>
      )}
    </ul>
  );
}

function stepText({ step, minutes, litres, salinity_after }: BagAnswer['plan']['steps'][number]): string {
  const time = `${minutes.toFixed(0)} min`;
  if (step === 'float') return `Float the closed bags for ${time}.`;
  const water = litres === null ? '' : ` ${litres.toFixed(2)} L of tank water`;
  const after = salinity_after === null ? '' : `, then at salinity ${readNumber('salinity', salinity_after, 1)}`;
  return `${step.charAt(0).toUpperCase()}${step.slice(1).replaceAll('_', ' ')}${water}, wait ${time}${after}.`;
}

/** Water of the bags against the tank: what would be a shock, and how the pieces are brought over. */
export function BagPart({ arrival }: { arrival: string }) {
  const form = useForm(
    `bag.${arrival}`,
    {
      'bag.temperature': '',
      'bag.salinity': '',
      'bag.ph': '',
      'bag.litres': '1',
      'bag.total_ammonia_mg_l_n': '',
    },
    typedAsNamed,
  );
  const [answer, setAnswer] = useState<BagAnswer | undefined>(undefined);

  async function compare(): Promise<void> {
    const check = checked(form);
    const bag = given({
      temperature: check.number('bag.temperature', 'temperature'),
      salinity: check.number('bag.salinity', 'salinity'),
      ph: check.number('bag.ph'),
      litres: check.neededNumber('bag.litres', 'Enter how much water is in the bag.'),
      total_ammonia_mg_l_n: check.number('bag.total_ammonia_mg_l_n'),
    });
    if (bag['temperature'] === undefined && bag['salinity'] === undefined && check.isGood())
      check.wrong('bag.temperature', 'Measure temperature and salinity in the bag.');
    if (!check.isGood()) return;
    const hints = [
      [/temperature/, 'bag.temperature'],
      [/salinity/, 'bag.salinity'],
      [/^ph|pH/, 'bag.ph'],
      [/ammonia/, 'bag.total_ammonia_mg_l_n'],
      [/litres|volume|water/, 'bag.litres'],
    ] as const;
    setAnswer(await form.submit('POST /api/arrivals/:id/shock', { params: { id: arrival }, body: { bag } }, hints));
  }

  return (
    <section class="part" aria-labelledby="bag">
      <h3 id="bag">Bag against tank</h3>
      <Asked label="Bag against tank" onSend={() => void compare()} isBusy={form.isBusy}>
        <div class="asked-row">
          <NumberField form={form} name="bag.temperature" label={withUnit('Bag temperature', 'temperature')} />
          <NumberField form={form} name="bag.salinity" label={withUnit('Bag salinity', 'salinity')} />
          <NumberField form={form} name="bag.ph" label="Bag pH" />
          <NumberField form={form} name="bag.litres" label="Water in the bag, L" />
          <NumberField form={form} name="bag.total_ammonia_mg_l_n" label="Total ammonia, mg/L N" />
        </div>
        <Submit form={form} words="Compare with the tank" isQuiet />
      </Asked>
      {answer !== undefined && (
        <div class="verdicts">
          <p class="said" role="status">
            {answer.shock.is_large ? 'Moving them straight over would be a shock.' : 'The waters match closely.'}
          </p>
          {/* Those of the waters are among them. */}
          <Warnings texts={answer.plan.warnings} />
          <Differences shock={answer.shock} from="bag" to="tank" />
          {answer.ammonia !== null && <p>{answer.ammonia.text}</p>}
          <ol class="ways-over">
            {answer.plan.steps.map((step, place) => (
              <li key={place}>{stepText(step)}</li>
            ))}
          </ol>
          <p class="aside">
            {answer.plan.total_minutes.toFixed(0)} minutes in all, {answer.plan.tank_l.toFixed(1)} L from the tank.
          </p>
        </div>
      )}
    </section>
  );
}
