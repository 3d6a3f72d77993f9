import { axisDate } from '../kit/times.ts';
import { Asked, NumberField, Submit } from './fields.tsx';
import { checked, useForm } from './form.ts';
import type { PartProps } from './pest-part.tsx';

/** How long they are kept apart, and how that is done. */
export function QuarantinePart({ arrival, zone, know }: PartProps) {
  const { quarantine } = arrival;
  const form = useForm(`quarantine.${arrival.id}`, { days: quarantine === null ? '' : String(quarantine.days) });

  async function store(): Promise<void> {
    const check = checked(form);
    const days = check.neededNumber('days', 'Enter how many days; 0 ends it.');
    if (!check.isGood()) return;
    const told = await form.submit('POST /api/arrivals/:id/quarantine', { params: { id: arrival.id }, body: { days } });
    if (told !== undefined) know(told);
  }

  const date = (time: string) => axisDate(Date.parse(time), zone, { weekday: 'short', day: 'numeric', month: 'short' });
  return (
    <section class="part" aria-labelledby="quarantine">
      <h3 id="quarantine">Quarantine</h3>
      {quarantine !== null && quarantine.ends !== null && <p class="said">Kept apart until {date(quarantine.ends)}.</p>}
      <Asked label="Quarantine" onSend={() => void store()} isBusy={form.isBusy}>
        <div class="asked-row">
          <NumberField form={form} name="days" label="Days in quarantine" />
          <Submit form={form} words="Save" isQuiet />
        </div>
      </Asked>
      {quarantine !== null && (
        <>
          <ul>
            {quarantine.practice.map((text) => (
              <li key={text}>{text}</li>
            ))}
          </ul>
          <p class="aside">Common practice, no published source.</p>
        </>
      )}
    </section>
  );
}
