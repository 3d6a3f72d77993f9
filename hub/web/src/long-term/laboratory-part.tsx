import { useState } from 'preact/hooks';
import { defined } from '#rules/plain-data/defined.ts';
import type { AnswerOf } from '../../../api/contract.ts';
import type { SystemView } from '../../../api/room.ts';
import { Asked, LongField, NumberField, Submit } from '../corals/fields.tsx';
import { checked, useForm } from '../corals/form.ts';

type Comparison = AnswerOf<'POST /api/laboratory/:system'>;

/** Lines as people paste them from a table: element, value and unit, with commas, semicolons or tabs between. */
function rowsOf(text: string) {
  return text
    .split('\n')
    .map((line) => line.split(/[;\t]|,(?=\s*[^\d\s])|,\s+|(?<=[^\d]),/).map((cell) => cell.trim()))
    .filter(([element, value]) => element !== undefined && element !== '' && value !== undefined && value !== '')
    .map(([element = '', value = '', unit = 'mg/L']) => ({ element, value, unit }));
}

/** A laboratory's table of elements beside the sea. */
export function LaboratoryPart({ system }: { system: SystemView }) {
  const form = useForm(`laboratory.${system.id}`, { table: '', salinity: '' });
  const [told, setTold] = useState<Comparison | undefined>(undefined);

  async function compare(): Promise<void> {
    const check = checked(form);
    const rows = rowsOf(form.values['table'] ?? '');
    if (rows.length === 0) check.wrong('table', 'Paste one line for each element, such as: Ca; 412; mg/L');
    const salinity = check.number('salinity');
    if (!check.isGood()) return;
    const body = { rows, ...defined({ salinity }) };
    setTold(await form.submit('POST /api/laboratory/:system', { params: { system: system.id }, body }));
  }

  return (
    <>
      <h4>Laboratory results</h4>
      <details open={told !== undefined}>
        <summary>Compare a laboratory’s table with the sea</summary>
        <Asked label="Compare with the sea" onSend={() => void compare()} isBusy={form.isBusy}>
          <LongField form={form} name="table" label="Table: element; value; unit" />
          <div class="asked-row">
            <NumberField form={form} name="salinity" label="Laboratory’s salinity (empty: the tank’s)" />
            <Submit form={form} words="Compare" isQuiet />
          </div>
        </Asked>
      </details>
      {told !== undefined && (
        <>
          <p role="status">{told.text}</p>
          <ul>
            {told.lines.map(({ element, value_mg_l, is_below, reference_mg_l, ratio }) => (
              <li key={element}>
                {element}: {is_below ? 'below ' : ''}
                {Number(value_mg_l.toPrecision(4))} mg/L
                {reference_mg_l === null || ratio === null
                  ? ', no reference'
                  : `, ${Math.round(100 * ratio)} % of the sea’s ${Number(reference_mg_l.toPrecision(4))}`}
              </li>
            ))}
            {told.not_understood.map((each) => (
              <li key={each}>Not understood: {each}</li>
            ))}
          </ul>
        </>
      )}
    </>
  );
}
