import { useState } from 'preact/hooks';
import type { RoomView } from '../../../api/room.ts';
import { Asked, Cautions, Choice, NumberField, Submit, TextField } from '../corals/fields.tsx';
import { checked, given, useForm } from '../corals/form.ts';
import type { BatchStart } from '../kit/batch-start.ts';
import { readAmount, withUnit } from '../room/read-unit.ts';
import { typedAsNamed } from '../room/typed-units.ts';
import { batchAddress } from './batch-address.ts';
import { type SaltPlan, saltHints, tankSalinity, usualSalinity } from './salt-plan.ts';

/** Salt water is made: how much salt the hub reckons, and what was weighed in. */
export function MakeBatch(props: { view: RoomView; salts: readonly string[]; start?: BatchStart }) {
  const { view, salts, start } = props;
  const first = start?.system || (view.systems[0]?.id ?? '');
  // What was worked out for an arrival has a draft of its own: another that was begun must not stand in its place.
  const form = useForm(
    start === undefined ? 'batch' : `batch.${start.arrival}.${start.litres}`,
    {
      system: first,
      litres: start?.litres ?? '',
      salt: start?.salt || (salts[0] ?? ''),
      salinity: start?.salinity || tankSalinity(view, first),
      grams_per_litre_at_35: start?.grams_per_litre_at_35 ?? '',
      salt_g: '',
      probes_of: '',
    },
    typedAsNamed,
  );
  const [plan, setPlan] = useState<SaltPlan | undefined>(undefined);
  const [planned, setPlanned] = useState('');
  const asked = ['litres', 'salinity', 'salt', 'grams_per_litre_at_35'].map((name) => form.values[name]).join('|');
  const isPlanned = plan !== undefined && planned === asked;

  async function reckon(): Promise<void> {
    const check = checked(form);
    const body = given({
      litres: check.neededNumber('litres', 'Enter how many litres you are making.'),
      salinity: check.neededNumber('salinity', 'Enter the target salinity.', 'salinity'),
      salt: check.text('salt'),
      grams_per_litre_at_35: check.number('grams_per_litre_at_35'),
    });
    if (!check.isGood()) return;
    const told = await form.submit('POST /api/batches/plan', { body }, saltHints);
    if (told === undefined) return;
    setPlan(told);
    setPlanned(asked);
    form.setAll({ salt_g: told.salt_g.toFixed(0) });
  }

  async function store(): Promise<void> {
    const check = checked(form);
    const body = given({
      system: form.values['system'],
      litres: check.neededNumber('litres', 'Enter how many litres you made.'),
      salt: check.neededText('salt', 'Enter the name of the salt.'),
      salt_g: check.neededNumber('salt_g', 'Enter how much salt you weighed in.'),
      probes_of: check.text('probes_of'),
      key: form.key,
      by: 'page',
      arrival: start?.arrival || undefined,
    });
    if (!check.isGood()) return;
    const batch = await form.submit('POST /api/batches', { body }, saltHints);
    if (batch === undefined) return;
    form.clear();
    location.hash = batchAddress(batch.id);
  }

  return (
    <Asked label="Make a batch" onSend={() => void (isPlanned ? store() : reckon())} isBusy={form.isBusy}>
      <div class="asked-row">
        <NumberField form={form} name="litres" label="Litres" isLarge />
        <NumberField form={form} name="salinity" label={withUnit('Target salinity', 'salinity')} isLarge />
        {view.systems.length > 1 && (
          <Choice
            form={form}
            name="system"
            label="For"
            options={view.systems.map(({ id, name }) => ({ id, words: name }))}
          />
        )}
      </div>
      <div class="asked-row">
        <TextField form={form} name="salt" label="Salt, name" known={salts} most={60} />
        <NumberField form={form} name="grams_per_litre_at_35" label="Grams per litre for 35 (empty: your own figure)" />
      </div>
      {!isPlanned && <Submit form={form} words="How much salt" />}
      {isPlanned && (
        <>
          <p class="amount" role="status">
            <b>{plan.salt_g.toFixed(0)} g</b> of salt
          </p>
          <p class="aside">
            At {plan.grams_per_litre_at_35.toFixed(2)} g/L for 35,{' '}
            {plan.batches_measured === 0
              ? 'from the label.'
              : `from ${plan.batches_measured} of your own batches; the salinity may miss by ${readAmount('salinity', 2 * plan.salinity_sd, usualSalinity, 1)}.`}{' '}
            Keep some back, measure, then add the rest.
          </p>
          <Cautions texts={plan.cautions} />
          <div class="asked-row">
            <NumberField form={form} name="salt_g" label="Weighed in, g" isLarge />
            {view.systems.length > 1 && (
              <Choice
                form={form}
                name="probes_of"
                label="Probes in the vessel"
                options={[{ id: '', words: 'none' }, ...view.systems.map(({ id, name }) => ({ id, words: name }))]}
              />
            )}
          </div>
          <Submit form={form} words="Save batch" />
        </>
      )}
    </Asked>
  );
}
