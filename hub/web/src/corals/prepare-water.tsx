import { useState } from 'preact/hooks';
import type { ArrivalAnswer, PreparedAnswer } from '../../../api/arrivals.ts';
import type { RoomView } from '../../../api/room.ts';
import { makeBatchAddress } from '../kit/batch-start.ts';
import { momentText } from '../kit/times.ts';
import { useAnswer } from '../kit/use-answer.ts';
import { readNumber, withUnit } from '../room/read-unit.ts';
import { typedAsNamed } from '../room/typed-units.ts';
import { arrivalAddress } from './arrivals-list.tsx';
import { Asked, Choice, MomentField, NumberField, Submit, TextField, Warnings } from './fields.tsx';
import { checked, given, useForm } from './form.ts';
import { instantOf } from './moments.ts';

/** Water, salt and time to have ready before new corals come. */
export function PrepareWater({ view, arrival }: { view: RoomView; arrival: string | undefined }) {
  const { answer } = useAnswer('GET /api/arrivals', {});
  const known = answer?.find(({ id }) => id === arrival);
  if (arrival !== undefined && known === undefined) return <p class="loading">Reading …</p>;
  return <Asks view={view} arrival={known} />;
}

function Asks({ view, arrival }: { view: RoomView; arrival: ArrivalAnswer | undefined }) {
  // What came with the arrival is not asked for again.
  const isSized = (arrival?.pieces.length ?? 0) > 0 && arrival?.pieces.every((each) => each.longest_cm !== undefined);
  const form = useForm(
    `prepare${arrival === undefined ? '' : `.${arrival.id}`}`,
    {
      system: view.systems[0]?.id ?? '',
      count: '',
      longest_cm: '',
      vessel_l: '5',
      bag_water_l: '',
      salinity: '',
      salt: '',
      grams_per_litre_at_35: '',
      expected: '',
    },
    typedAsNamed,
  );
  const [water, setWater] = useState<PreparedAnswer | undefined>(undefined);

  async function reckon(): Promise<void> {
    const check = checked(form);
    const pieces = isSized
      ? undefined
      : [
          {
            count: check.neededNumber('count', 'Enter how many pieces are coming.'),
            longest_cm: check.neededNumber('longest_cm', 'Enter the longest side, plug included.'),
          },
        ];
    const body = given({
      system: arrival?.system ?? form.values['system'],
      arrival: arrival?.id,
      pieces,
      vessel_l: check.neededNumber('vessel_l', 'Enter how much your largest bath holds.'),
      bag_water_l: check.number('bag_water_l'),
      salinity: check.number('salinity', 'salinity'),
      salt: check.text('salt'),
      grams_per_litre_at_35: check.number('grams_per_litre_at_35'),
      expected: arrival?.expected ?? instantOf(form.values['expected'] ?? '', view.timezone),
    });
    if (!check.isGood()) return;
    const hints = [
      [/grams_per_litre_at_35|salt at 35/, 'grams_per_litre_at_35'],
      [/longest side|litres around/, 'longest_cm'],
      [/pieces/, 'count'],
      [/vessel/, 'vessel_l'],
      [/bags/, 'bag_water_l'],
      [/salinity/, 'salinity'],
    ] as const;
    setWater(await form.submit('POST /api/arrivals/prepare', { body }, hints));
  }

  return (
    <main class="page">
      <p class="way-back">
        {arrival === undefined ? (
          <a href="#/corals">Corals</a>
        ) : (
          <a href={arrivalAddress(arrival.id)}>{arrival.name}</a>
        )}
      </p>
      <h2 tabIndex={-1} data-view-title>
        Water to have ready
      </h2>
      <Asked label="Water to have ready" onSend={() => void reckon()} isBusy={form.isBusy}>
        <div class="asked-row">
          {view.systems.length > 1 && arrival === undefined && (
            <Choice
              form={form}
              name="system"
              label="For"
              options={view.systems.map(({ id, name }) => ({ id, words: name }))}
            />
          )}
          {isSized !== true && <NumberField form={form} name="count" label="Pieces" />}
          {isSized !== true && <NumberField form={form} name="longest_cm" label="Longest side with plug, cm" />}
          <NumberField form={form} name="vessel_l" label="Largest bath vessel, L" />
          <NumberField form={form} name="bag_water_l" label="Water in the bags, L (if known)" />
        </div>
        <div class="asked-row">
          <TextField form={form} name="salt" label="Salt, name" most={60} />
          <NumberField form={form} name="grams_per_litre_at_35" label="Grams per litre for 35 (label)" />
          <NumberField form={form} name="salinity" label={withUnit('Salinity (empty: as the tank)', 'salinity')} />
          {arrival === undefined && <MomentField form={form} name="expected" label="Expected (if known)" />}
        </div>
        <Submit form={form} words="How much water" />
      </Asked>
      {water !== undefined && (
        <section class="part" role="status" aria-label="Water to have ready">
          <p class="amount">
            <b>{water.fresh_l.toFixed(1)} L</b> of new salt water, with <b>{water.salt_g.toFixed(0)} g</b> of salt
          </p>
          <Warnings texts={water.warnings} />
          <dl class="facts">
            <dt>Dip baths</dt>
            <dd>
              {water.baths} of {water.bath_l.toFixed(1)} L:{' '}
              {water.bag_l === 0
                ? 'all of it from the tank'
                : `${water.tank_l.toFixed(1)} L from the tank, ${water.bag_l.toFixed(1)} L from the bags`}
            </dd>
            <dt>Back into the tank</dt>
            <dd>{water.replace_l.toFixed(1)} L</dd>
            <dt>Rinse, spare</dt>
            <dd>
              {water.rinse_l.toFixed(1)} L, {water.spare_l.toFixed(1)} L
            </dd>
            <dt>Start</dt>
            <dd>
              {water.lead_hours.toFixed(0)} h before
              {water.start_by !== null && `: ${momentText(Date.parse(water.start_by), view.timezone)}`}
            </dd>
          </dl>
          <p>
            <a
              class="way"
              href={makeBatchAddress({
                system: arrival?.system ?? form.values['system'] ?? '',
                litres: water.fresh_l.toFixed(1),
                salinity: readNumber('salinity', water.salinity, 1),
                salt: form.values['salt'] ?? '',
                grams_per_litre_at_35: form.values['grams_per_litre_at_35'] ?? '',
                arrival: arrival?.id ?? '',
              })}
            >
              Make the batch
            </a>
          </p>
        </section>
      )}
    </main>
  );
}
