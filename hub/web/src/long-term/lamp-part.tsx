import type { AnswerOf } from '../../../api/contract.ts';
import type { SystemView } from '../../../api/room.ts';
import { Asked, Cautions, NumberField, Submit, TextField } from '../corals/fields.tsx';
import { checked, useForm } from '../corals/form.ts';
import { useAnswer } from '../kit/use-answer.ts';
import { AskedPart } from './asked-part.tsx';

type Light = AnswerOf<'GET /api/light/:system'>;
type Known = { system: SystemView; know: (light: Light) => void };

function LampForm({ system, know }: Known) {
  const form = useForm(`lamp.${system.id}`, {
    name: '',
    on_at: '',
    full_hours: '8',
    ramp_up_hours: '1',
    ramp_down_hours: '1',
  });

  async function send(): Promise<void> {
    const check = checked(form);
    const name = (form.values['name'] ?? '').trim();
    const on_at = (form.values['on_at'] ?? '').trim();
    if (name === '') check.wrong('name', 'Name the lamp.');
    if (!/^([01]\d|2[0-3]):[0-5]\d$/.test(on_at)) check.wrong('on_at', 'Enter a time such as 09:30.');
    const full_hours = check.neededNumber('full_hours', 'Enter the hours at full light.');
    const [ramp_up_hours, ramp_down_hours] = [check.number('ramp_up_hours') ?? 0, check.number('ramp_down_hours') ?? 0];
    if (!check.isGood() || full_hours === undefined) return;
    const body = { name, on_at, full_hours, ramp_up_hours, ramp_down_hours };
    const answer = await form.submit('POST /api/light/:system/lamp', { params: { system: system.id }, body }, [
      [/hours/, 'full_hours'],
    ]);
    if (answer !== undefined) know(answer);
  }

  return (
    <Asked label="Lamp and hours" onSend={() => void send()} isBusy={form.isBusy}>
      <div class="asked-row">
        <TextField form={form} name="name" label="Lamp (same name: same lamp)" />
        <TextField form={form} name="on_at" label="On at, HH:MM" />
      </div>
      <div class="asked-row">
        <NumberField form={form} name="full_hours" label="Full light, hours" />
        <NumberField form={form} name="ramp_up_hours" label="Ramp up, hours" />
        <NumberField form={form} name="ramp_down_hours" label="Ramp down, hours" />
      </div>
      <Submit form={form} words="Save lamp" />
    </Asked>
  );
}

function ParForm({ system, know }: Known) {
  const form = useForm(`par.${system.id}`, { height_cm: '', par: '' });

  async function send(): Promise<void> {
    const check = checked(form);
    const height_cm = check.neededNumber('height_cm', 'Enter the height above the sand.');
    const par = check.neededNumber('par', 'Enter the PAR measured there.');
    if (!check.isGood() || height_cm === undefined || par === undefined) return;
    const body = { places: [{ height_cm, par }] };
    const answer = await form.submit('POST /api/light/:system/par', { params: { system: system.id }, body }, [
      [/height/, 'height_cm'],
      [/par/i, 'par'],
    ]);
    if (answer === undefined) return;
    form.clear();
    know(answer);
  }

  return (
    <Asked label="PAR measured" onSend={() => void send()} isBusy={form.isBusy}>
      <div class="asked-row">
        <NumberField form={form} name="height_cm" label="Height above the sand, cm" />
        <NumberField form={form} name="par" label="PAR at full light, µmol/m²/s" />
      </div>
      <Submit form={form} words="Save PAR" />
    </Asked>
  );
}

function Lit({ caption, rows }: { caption: string; rows: readonly (Light['places'][number] & { name?: string })[] }) {
  return (
    <table>
      <caption>{caption}</caption>
      <thead>
        <tr>
          <th scope="col">Height, cm</th>
          <th scope="col">PAR, µmol/m²/s</th>
          <th scope="col">Per day, mol/m²</th>
          <th scope="col">Piece</th>
        </tr>
      </thead>
      <tbody>
        {rows.map(({ name, height_cm, par, dli }) => (
          <tr key={`${name ?? ''} ${height_cm}`}>
            <td>{height_cm}</td>
            <td>{par.toFixed(0)}</td>
            <td>{dli.toFixed(1)}</td>
            <td>{name ?? '–'}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

/** Lamp, PAR by height, the daily light of each piece, and the setting of a new lamp day by day. */
export function LampPart({ system }: { system: SystemView }) {
  const { answer, failure, know } = useAnswer('GET /api/light/:system', { params: { system: system.id } }, 300_000);
  return (
    <AskedPart title="Lamp and daily light" isTold={answer !== undefined} failure={failure}>
      {answer?.text.map((line) => (
        <p key={line}>{line}</p>
      ))}
      <Cautions texts={answer?.cautions ?? []} />
      {answer !== undefined && answer.places.length > 0 && (
        <Lit
          caption="Daily light by height"
          rows={[...answer.places, ...answer.pieces.map((piece) => ({ ...piece, name: `${piece.id} ${piece.kind}` }))]}
        />
      )}
      {answer !== undefined && answer.change !== null && answer.change.days.length > 1 && (
        <details>
          <summary>The new lamp, {answer.change.days.length} days</summary>
          <ol>
            {answer.change.days.map(({ day, share }) => (
              <li key={day} {...(day === answer.change?.today ? { 'aria-current': 'date' as const } : {})}>
                {(100 * share).toFixed(0)} %
              </li>
            ))}
          </ol>
        </details>
      )}
      <details>
        <summary>Enter a lamp or PAR</summary>
        <LampForm system={system} know={know} />
        <ParForm system={system} know={know} />
      </details>
    </AskedPart>
  );
}
