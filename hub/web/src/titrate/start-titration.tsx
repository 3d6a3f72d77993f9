import type { RoomView } from '../../../api/room.ts';
import { Asked, Choice, NumberField, Submit, TextField } from '../corals/fields.tsx';
import { checked, given, useForm } from '../corals/form.ts';
import { whoHere } from '../kit/who.tsx';
import { withUnit } from '../room/read-unit.ts';
import { typedAsNamed } from '../room/typed-units.ts';

const airings = [
  { id: 'stirred', words: 'Stirring' },
  { id: 'bubbled', words: 'Air bubbled through' },
];
const samples = [
  { id: 'sample_ml', words: 'mL, measured' },
  { id: 'sample_g', words: 'g, weighed' },
];
const strengths = [
  { id: 'acid_mol_l', words: 'mol/L' },
  { id: 'acid_mol_kg', words: 'mol/kg' },
];
const scales = [
  { id: 'ml', words: 'mL, syringe or burette' },
  { id: 'g', words: 'g, balance' },
];

/** What the hub must know before the first acid. */
export function StartTitration({ view, system, begun }: { view: RoomView; system: string; begun: () => void }) {
  const form = useForm(
    'titration',
    {
      system: system || (view.systems[0]?.id ?? ''),
      sample: '100',
      sample_by: 'sample_ml',
      acid: '0.1',
      acid_per: 'acid_mol_l',
      acid_by: 'ml',
      acid_step: '0.01',
      acid_lot: '',
      salinity: '',
      temperature_c: '',
      airing: 'stirred',
    },
    (field) => (field === 'temperature_c' ? 'temperature' : typedAsNamed(field, {})),
  );
  const { values } = form;

  async function begin(): Promise<void> {
    const check = checked(form);
    const body = given({
      system: values['system'],
      by: whoHere(),
      airing: values['airing'],
      acid_by: values['acid_by'],
      [values['sample_by'] ?? 'sample_ml']: check.neededNumber('sample', 'Enter how much sample is in the beaker.'),
      [values['acid_per'] ?? 'acid_mol_l']: check.neededNumber('acid', 'Enter the acid’s strength from its label.'),
      acid_step: check.neededNumber('acid_step', 'Enter the smallest step of the scale.'),
      acid_lot: check.text('acid_lot'),
      salinity: check.number('salinity', 'salinity'),
      temperature_c: check.number('temperature_c', 'temperature'),
    });
    if (!check.isGood()) return;
    const told = await form.submit('POST /api/titrations', { body }, [
      [/salinity/, 'salinity'],
      [/temperature/, 'temperature_c'],
      [/sample/, 'sample'],
      [/strength|acid_mol/, 'acid'],
    ]);
    if (told === undefined) return;
    form.clear({ ...values, acid_lot: '' });
    begun();
  }

  return (
    <section class="part" aria-labelledby="titrate-start">
      <h3 id="titrate-start">Before the first acid</h3>
      <ol class="titrate-before">
        <li>Acid burns: read its label, and put on gloves and eye protection, before you open it.</li>
        <li>Calibrate the pH probe in two buffers, best pH 7 and 4: 1 % of slope error is 0.3 % of the result.</li>
        <li>Measure or weigh the sample into a clean beaker with a stirrer. Note its temperature.</li>
        <li>Rinse the probe and hang it in, bulb clear of stirrer and glass.</li>
        <li>Allow a quarter of an hour. The hub gives each amount and watches the probe.</li>
      </ol>
      <Asked label="Start a titration" onSend={() => void begin()} isBusy={form.isBusy}>
        <div class="asked-row">
          {view.systems.length > 1 && (
            <Choice
              form={form}
              name="system"
              label="Tank"
              options={view.systems.map(({ id, name }) => ({ id, words: name }))}
            />
          )}
          <NumberField form={form} name="sample" label="Sample" isLarge />
          <Choice form={form} name="sample_by" label="Sample in" options={samples} />
          <NumberField form={form} name="acid" label="Strength of the acid" isLarge />
          <Choice form={form} name="acid_per" label="Strength in" options={strengths} />
        </div>
        <div class="asked-row">
          <Choice form={form} name="acid_by" label="Acid measured in" options={scales} />
          <NumberField form={form} name="acid_step" label="Smallest step of that scale" />
          <Choice form={form} name="airing" label="CO2 driven off by" options={airings} />
          <NumberField form={form} name="salinity" label={withUnit('Salinity (empty: as the tank)', 'salinity')} />
          <NumberField
            form={form}
            name="temperature_c"
            label={withUnit('Sample temperature (empty: as the tank)', 'temperature')}
          />
          <TextField form={form} name="acid_lot" label="Lot of the acid" most={60} />
        </div>
        <div class="wide-submit">
          <Submit form={form} words="Start" />
        </div>
      </Asked>
    </section>
  );
}
