import { useState } from 'preact/hooks';
import type { ArrivalAnswer } from '../../../api/arrivals.ts';
import type { PieceAnswer } from '../../../api/pieces.ts';
import type { ProtocolsAnswer } from '../../../api/protocols.ts';
import type { RoomView } from '../../../api/room.ts';
import type { RunAnswer } from '../../../api/runs.ts';
import { useAnswer } from '../kit/use-answer.ts';
import { arrivalAddress } from './arrivals-list.tsx';
import { Asked, Cautions, Choice, Failure, NumberField, Submit, TextField, Warnings } from './fields.tsx';
import { checked, given, useForm } from './form.ts';

export const runAddress = (run: Pick<RunAnswer, 'id' | 'arrival'>): string =>
  `${arrivalAddress(run.arrival)}/run/${encodeURIComponent(run.id)}`;

const mostReagents = 3;

const stepNames: Record<string, string> = {
  float: 'float',
  acclimate: 'acclimate',
  dip_bath: 'make the bath',
  soak: 'soak',
  swirl_and_rinse_off: 'rinse off',
  rinse_bath: 'rinse bath',
  new_plug: 'new plug',
  inspection: 'inspect',
  placement: 'place',
};

type Protocol = ProtocolsAnswer['protocols'][number];

function stepsText({ steps }: Protocol): string {
  return steps
    .map((step) => {
      const name = stepNames[step.kind] ?? step.kind;
      return 'minutes' in step && step.minutes !== undefined ? `${name} ${step.minutes} min` : name;
    })
    .join(' → ');
}

/** Starts a checklist: which protocol, its baths with the doses of the label, and who is in it. */
export function StartRun({
  arrival,
  pieces,
  view,
}: {
  arrival: ArrivalAnswer;
  pieces: readonly PieceAnswer[];
  view: RoomView;
}) {
  const { answer, failure } = useAnswer('GET /api/protocols', {}, 60_000);
  const { answer: batches } = useAnswer('GET /api/batches', {}, 60_000);
  const [reagents, setReagents] = useState(1);
  // The volumes that were worked out for this arrival, and a usual bath only where none were.
  const litres = arrival.water === null ? '3' : String(Number(arrival.water.bath_l.toFixed(2)));
  const because = arrival.tank_only_because;
  const worked = arrival.water === null ? '' : String(Number(arrival.water.tank_share.toFixed(2)));
  const share = because === null ? worked : '1';
  const form = useForm(
    `run.${arrival.id}${arrival.water === null ? '' : `.${litres}`}${because === null ? '' : '.tank'}`,
    {
      protocol: '',
      bath_l: litres,
      tank_share: share,
      soak_minutes: '',
      rinse_l: litres,
      batch: arrival.water?.batch ?? '',
      bath_probes: '',
      ...Object.fromEntries(
        Array.from({ length: mostReagents }, (_, row) =>
          ['name', 'dose_ml_l', 'low_ml_l', 'high_ml_l'].map((part) => [`${part}.${row}`, '']),
        ).flat(),
      ),
    },
  );
  const usable = answer?.protocols.filter((each) => each.may_be_run) ?? [];
  const protocol = usable.find(({ id }) => id === form.values['protocol']) ?? usable[0];
  const baths = protocol?.steps.filter(({ kind }) => kind === 'dip_bath').length ?? 0;

  async function start(): Promise<void> {
    if (protocol === undefined) return;
    const check = checked(form);
    const label = (row: number) => {
      const [low, high] = [check.number(`low_ml_l.${row}`), check.number(`high_ml_l.${row}`)];
      if ((low === undefined) !== (high === undefined))
        check.wrong(low === undefined ? `low_ml_l.${row}` : `high_ml_l.${row}`, 'Enter both ends of the range.');
      return low === undefined || high === undefined ? undefined : { low_ml_l: low, high_ml_l: high };
    };
    const dosed = Array.from({ length: reagents }, (_, row) => {
      const name = check.text(`name.${row}`);
      const dose = check.number(`dose_ml_l.${row}`);
      if (name === undefined && dose === undefined) return undefined;
      return given({
        name: check.neededText(`name.${row}`, 'Enter what you add.'),
        dose_ml_l: dose ?? check.neededNumber(`dose_ml_l.${row}`, "Enter the label's dose."),
        label: label(row),
      });
    }).filter((each) => each !== undefined);
    const bath = given({
      bath_l: baths === 0 ? undefined : check.neededNumber('bath_l', 'Enter the size of the bath.'),
      tank_share: check.number('tank_share'),
      reagents: dosed.length === 0 ? undefined : dosed,
    });
    const body = given({
      protocol: protocol.id,
      baths: baths === 0 ? undefined : Array.from({ length: baths }, () => bath),
      soak_minutes: check.number('soak_minutes'),
      rinse_l: check.number('rinse_l'),
      pieces: pieces.filter(({ lost }) => lost === null).map(({ id }) => id),
      batch: check.text('batch'),
      bath_probes: check.text('bath_probes'),
    });
    if (!check.isGood()) return;
    const hints = [
      [/label|dose|reagent/, 'dose_ml_l.0'],
      [/share/, 'tank_share'],
      [/soak/i, 'soak_minutes'],
      [/rinse/, 'rinse_l'],
      [/bath/, 'bath_l'],
      [/protocol/, 'protocol'],
    ] as const;
    const run = await form.submit('POST /api/arrivals/:id/runs', { params: { id: arrival.id }, body }, hints);
    if (run === undefined) return;
    form.clear();
    location.hash = runAddress(run);
  }

  if (protocol === undefined) return <Failure text={failure} />;
  return (
    <Asked label="Start a checklist" onSend={() => void start()} isBusy={form.isBusy}>
      {/* Until somebody chooses it is the first, and a select that shows nothing would not say so. */}
      <Choice
        form={{ ...form, values: { ...form.values, protocol: protocol.id } }}
        name="protocol"
        label="Protocol"
        options={usable.map(({ id, name }) => ({ id, words: name }))}
      />
      <p class="aside">{stepsText(protocol)}</p>
      {answer?.problems.map((problem) => (
        <p key={problem} class="asked-error">
          {problem}
        </p>
      ))}
      {baths > 0 && (
        <>
          {because !== null && <Warnings texts={[`Bath from the tank alone, no bag water: ${because}`]} />}
          <div class="asked-row">
            <NumberField form={form} name="bath_l" label={baths > 1 ? 'Each bath, L' : 'Bath, L'} />
            <NumberField form={form} name="tank_share" label="Share of tank water, 0.5 to 1" />
            <NumberField form={form} name="soak_minutes" label="Soak by label, min" />
            <NumberField form={form} name="rinse_l" label="Rinse bath, L" />
          </div>
          <fieldset class="rows-asked">
            <legend>Added to the bath, by the maker's label</legend>
            {Array.from({ length: reagents }, (_, row) => (
              <div key={row} class="asked-row">
                <TextField form={form} name={`name.${row}`} label={`Dip ${row + 1}, name`} most={60} />
                <NumberField form={form} name={`dose_ml_l.${row}`} label="Dose, mL per L" />
                <NumberField form={form} name={`low_ml_l.${row}`} label="Label from" />
                <NumberField form={form} name={`high_ml_l.${row}`} label="Label to" />
              </div>
            ))}
            {reagents < mostReagents && (
              <button type="button" onClick={() => setReagents(reagents + 1)}>
                Another dip in the same bath
              </button>
            )}
          </fieldset>
          <div class="asked-row">
            <Choice
              form={form}
              name="batch"
              label="Rinse water from batch"
              options={[
                { id: '', words: 'not logged' },
                ...(batches ?? [])
                  .filter(({ left_l }) => left_l > 0)
                  .map(({ id, left_l, salt }) => ({ id, words: `${id}: ${left_l.toFixed(0)} L left, ${salt}` })),
              ]}
            />
            {view.systems.length > 1 && (
              <Choice
                form={form}
                name="bath_probes"
                label="Probes in the bath"
                options={[
                  { id: '', words: 'none' },
                  ...view.systems
                    .filter(({ id }) => id !== arrival.system)
                    .map(({ id, name }) => ({ id, words: name })),
                ]}
              />
            )}
          </div>
          <Cautions texts={[...(answer?.cautions ?? []), answer?.emergency ?? ''].filter((text) => text !== '')} />
        </>
      )}
      <Submit form={form} words="Start the checklist" />
    </Asked>
  );
}
