import { useState } from 'preact/hooks';
import type { BatchAnswer } from '../../../api/batches.ts';
import type { RoomView } from '../../../api/room.ts';
import { Asked, Cautions, NumberField, Submit } from '../corals/fields.tsx';
import { checked, given, useForm } from '../corals/form.ts';
import { readNumber, withUnit } from '../room/read-unit.ts';
import { typedAsNamed } from '../room/typed-units.ts';
import { type SaltPlan, saltHints, tankSalinity } from './salt-plan.ts';

/** Too thin or too strong: what goes in, and that it went in. */
export function CorrectPart(props: { batch: BatchAnswer; view: RoomView; know(batch: BatchAnswer): void }) {
  const { batch, view, know } = props;
  const salinity = batch.water['salinity'];
  const form = useForm(
    `batch-more.${batch.id}`,
    {
      salinity: tankSalinity(view, batch.system),
      grams_per_litre_at_35: '',
      salt_g: '',
      fresh_l: '',
    },
    typedAsNamed,
  );
  const [plan, setPlan] = useState<SaltPlan | undefined>(undefined);

  async function reckon(): Promise<void> {
    const check = checked(form);
    const body = given({
      litres: batch.left_l,
      salinity_now: salinity,
      salt: batch.salt,
      salinity: check.neededNumber('salinity', 'Enter the target salinity.', 'salinity'),
      grams_per_litre_at_35: check.number('grams_per_litre_at_35'),
    });
    if (!check.isGood()) return;
    const told = await form.submit('POST /api/batches/plan', { body }, saltHints);
    if (told === undefined) return;
    setPlan(told);
    form.setAll({
      salt_g: told.salt_g > 0 ? told.salt_g.toFixed(0) : '',
      fresh_l: told.fresh_l > 0 ? told.fresh_l.toFixed(1) : '',
    });
  }

  async function store(): Promise<void> {
    const check = checked(form);
    const body = given({ salt_g: check.number('salt_g'), fresh_l: check.number('fresh_l') });
    if (Object.keys(body).length === 0 && check.isGood()) check.wrong('salt_g', 'Enter what went in.');
    if (!check.isGood()) return;
    const asked = { params: { id: batch.id }, body: { ...body, key: form.key, by: 'page' } };
    const told = await form.submit('POST /api/batches/:id/more', asked);
    if (told === undefined) return;
    form.clear();
    setPlan(undefined);
    know(told);
  }

  if (salinity === undefined) return null;
  return (
    <section class="part" aria-labelledby="correct">
      <h3 id="correct">Correct its salinity</h3>
      <p class="aside">It is {readNumber('salinity', salinity, 1)} now.</p>
      <Asked label="How much to add" onSend={() => void reckon()} isBusy={form.isBusy}>
        <div class="asked-row">
          <NumberField form={form} name="salinity" label={withUnit('Target salinity', 'salinity')} />
          <NumberField form={form} name="grams_per_litre_at_35" label="Salt, g/L for 35 (yours if empty)" />
          <Submit form={form} words="How much to add" isQuiet />
        </div>
      </Asked>
      {plan !== undefined && (
        <Asked label="It went in" onSend={() => void store()} isBusy={form.isBusy}>
          <p class="amount" role="status">
            {plan.salt_g > 0 && (
              <>
                <b>{plan.salt_g.toFixed(0)} g</b> of salt more
              </>
            )}
            {plan.fresh_l > 0 && (
              <>
                <b>{plan.fresh_l.toFixed(1)} L</b> of fresh water on top
              </>
            )}
            {plan.salt_g === 0 && plan.fresh_l === 0 && 'Nothing to add.'}
          </p>
          <Cautions texts={plan.cautions} />
          <div class="asked-row">
            <NumberField form={form} name="salt_g" label="Salt that went in, g" />
            <NumberField form={form} name="fresh_l" label="Fresh water that went in, L" />
            <Submit form={form} words="It went in" />
          </div>
          <p class="aside">Mix until clear, then measure again: the old salinity no longer counts.</p>
        </Asked>
      )}
    </section>
  );
}
