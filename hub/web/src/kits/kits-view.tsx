import type { KitAnswer } from '../../../api/kits.ts';
import { Asked, Choice, Failure, NumberField, Submit, TextField, Warnings } from '../corals/fields.tsx';
import { checked, given, useForm } from '../corals/form.ts';
import type { PlaceProps } from '../kit/places.ts';
import { momentText } from '../kit/times.ts';
import { useAnswer } from '../kit/use-answer.ts';
import { whoHere } from '../kit/who.tsx';
import { tested } from '../room/entry-kinds.ts';
import '../style/asked.css';
import '../style/corals.css';
import '../style/verdicts.css';

/** `#/kits`: the kits as instruments: opened, held against a reference, and what that says of them. */
export default function KitsView({ view }: PlaceProps) {
  const { answer, failure, again } = useAnswer('GET /api/kits', {}, 15_000);
  return (
    <main class="page page-broad">
      <nav class="way-back" aria-label="Way back">
        <a href="#/more">‹ More</a>
      </nav>
      <h2 tabIndex={-1} data-view-title>
        Test kits
      </h2>
      <Failure text={failure} />
      <p>
        Test a reference solution, or water the hub has titrated: later tests are corrected and weighed by the result.
        What you typed stays in the log.
      </p>
      <div class="parts">
        {(answer ?? []).toReversed().map((kit) => (
          <KitPart key={kit.id} kit={kit} zone={view.timezone} changed={again} />
        ))}
        <OpenKit changed={again} />
      </div>
    </main>
  );
}

const short = (value: number) => String(Number(value.toPrecision(2)));
const signed = (value: number) => (value < 0 ? `−${short(-value)}` : short(value));

function biasWords(bias: NonNullable<KitAnswer['bias']>, unit: string): string {
  const { value, low, high } = bias.value < 0 ? { value: -bias.value, low: -bias.high, high: -bias.low } : bias;
  const way = bias.value < 0 ? 'low' : 'high';
  return `Reads ${short(value)} ${unit} too ${way}, 95 % within ${signed(low)} to ${signed(high)}`;
}

function labelOf(analyte: string): string {
  return tested.find(({ id }) => id === analyte)?.label ?? analyte;
}

function KitPart({ kit, zone, changed }: { kit: KitAnswer; zone: string; changed: () => void }) {
  const { name, lot, analyte, unit, bias, sd, pairs, corrects_from } = kit;
  const title = `kit-${kit.id}`;
  return (
    <section class="part" aria-labelledby={title}>
      <h3 id={title}>
        {name}
        {lot === null ? '' : `, lot ${lot}`}: {labelOf(analyte)}
      </h3>
      <Warnings texts={kit.warnings} />
      <p>Opened {momentText(Date.parse(kit.opened), zone)}.</p>
      {bias === null ? (
        <p>Not compared yet: its tests count as read.</p>
      ) : (
        <p>
          {biasWords(bias, unit)}, from {pairs} {pairs === 1 ? 'test' : 'tests'}.
          {sd !== null && ` Scatter of one test ${short(sd.value)} ${unit} (${short(sd.low)} to ${short(sd.high)}).`}
        </p>
      )}
      {corrects_from !== null && (
        <>
          <p>Tests from {momentText(Date.parse(corrects_from), zone)} on are corrected.</p>
          <ApplyKit kit={kit} changed={changed} />
        </>
      )}
      <CompareKit kit={kit} zone={zone} changed={changed} />
    </section>
  );
}

/** Titrations by the hub that a kit may be held against: older ones are of other water. */
const titrationsOffered = 5;
const label = 'label';

/** What a kit is held against: the label of a bottle, or the same water as the hub titrated it. */
function useReferences({ analyte, unit }: KitAnswer, zone: string) {
  const { answer } = useAnswer('GET /api/entries', { query: { kind: 'test', limit: 200 } }, 60_000);
  const titrated = (answer ?? []).flatMap((entry) =>
    entry.kind === 'test' && entry.body.analyte === analyte && entry.body.titration !== undefined ? [entry] : [],
  );
  return [
    { id: label, words: 'A reference solution' },
    ...titrated.slice(0, titrationsOffered).map(({ id, timeMs, body }) => ({
      id: String(id),
      words: `Titration of ${momentText(timeMs, zone)}: ${body.value.toFixed(2)} ${unit}`,
    })),
  ];
}

function CompareKit({ kit, zone, changed }: { kit: KitAnswer; zone: string; changed: () => void }) {
  const form = useForm(`kit.${kit.id}`, { found: '', against: label, reference: '', reference_sd: '' });
  const references = useReferences(kit, zone);
  const against = form.values['against'] ?? label;

  async function send(): Promise<void> {
    const check = checked(form);
    const words = check.neededText('found', 'Enter what the kit found; separate repeats with spaces.').trim();
    const found = words.split(/[\s;]+/).map((each) => Number(each.replace(',', '.')));
    if (words !== '' && found.some((each) => !Number.isFinite(each)))
      check.wrong('found', 'Enter numbers such as 8.3 8.5 8.4');
    const reference =
      against === label
        ? {
            reference: check.neededNumber('reference', 'Enter the value of the reference.'),
            reference_sd: check.neededNumber('reference_sd', 'Enter its uncertainty: half of the ± on the label.'),
          }
        : { titration: Number(against) };
    const body = { found, by: whoHere(), key: form.key, ...reference };
    if (!check.isGood()) return;
    if ((await form.submit('POST /api/kits/:id/compare', { params: { id: kit.id }, body })) === undefined) return;
    form.clear();
    changed();
  }

  return (
    <Asked label={`Compare ${kit.name} with a reference`} onSend={() => void send()} isBusy={form.isBusy}>
      <div class="asked-row">
        <TextField form={form} name="found" label={`Kit result, ${kit.unit}`} />
        {references.length > 1 && <Choice form={form} name="against" label="Held against" options={references} />}
        {against === label && (
          <>
            <NumberField form={form} name="reference" label={`Reference value, ${kit.unit}`} />
            <NumberField form={form} name="reference_sd" label={`Standard uncertainty of the reference, ${kit.unit}`} />
          </>
        )}
      </div>
      <Submit form={form} words="Save the comparison" isQuiet />
    </Asked>
  );
}

function ApplyKit({ kit, changed }: { kit: KitAnswer; changed: () => void }) {
  const form = useForm(`kit-apply.${kit.id}`, {});
  async function send(): Promise<void> {
    const body = { from: kit.opened, by: whoHere() };
    if ((await form.submit('POST /api/kits/:id/apply', { params: { id: kit.id }, body })) !== undefined) changed();
  }
  return (
    <Asked label={`Correct the past of ${kit.name}`} onSend={() => void send()} isBusy={form.isBusy}>
      <Submit form={form} words="Correct its tests since it was opened" isQuiet />
    </Asked>
  );
}

function OpenKit({ changed }: { changed: () => void }) {
  const form = useForm('kit-open', { name: '', analyte: 'alkalinity', lot: '', resolution: '' });

  async function send(): Promise<void> {
    const check = checked(form);
    const body = given({
      name: check.neededText('name', 'Enter a name for the kit.'),
      analyte: form.values['analyte'],
      lot: check.text('lot'),
      resolution: check.number('resolution'),
      by: whoHere(),
      key: form.key,
    });
    if (!check.isGood()) return;
    if ((await form.submit('POST /api/kits', { body })) === undefined) return;
    form.clear();
    changed();
  }

  return (
    <section class="part" aria-labelledby="kit-open">
      <h3 id="kit-open">Open a kit or a new lot</h3>
      <Asked label="Open a kit" onSend={() => void send()} isBusy={form.isBusy}>
        <div class="asked-row">
          <TextField form={form} name="name" label="Name" most={60} />
          <Choice
            form={form}
            name="analyte"
            label="Measures"
            options={tested.map(({ id, label }) => ({ id, words: label }))}
          />
          <TextField form={form} name="lot" label="Lot" most={60} />
          <NumberField form={form} name="resolution" label="Smallest step of the scale" />
        </div>
        <Submit form={form} words="Save, opened today" />
      </Asked>
    </section>
  );
}
