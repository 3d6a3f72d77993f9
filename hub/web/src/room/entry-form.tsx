import { useLayoutEffect, useRef, useState } from 'preact/hooks';
import { defined } from '#rules/plain-data/defined.ts';
import type { Doubt } from '../../../api/problem.ts';
import type { SystemView } from '../../../api/room.ts';
import { numberIn } from '../kit/number-in.ts';
import { recall, remember } from '../kit/remembered.ts';
import { enter, newKey, takeBack } from '../kit/unsent.ts';
import { DoubtButtons } from './doubt-buttons.tsx';
import { type Choice, type CorrectedKind, choicesOf, kindWords, requestOf, unitName } from './entry-kinds.ts';
import { type Gravity, GravityFields, gravityOf, usualGravity } from './gravity-fields.tsx';
import { type Moment, MomentFields, momentOf } from './moment-fields.tsx';
import { type NewWater, NewWaterFields, recalledWater, rememberWater, storedWater, useNewWater } from './new-water.tsx';
import { room } from './room-signals.ts';
import { learnOrder, nextOfRound } from './test-round.ts';

type Answer = { tone: 'good' | 'bad' | 'ask'; text: string; undo?: number; about?: Doubt; next?: Choice };

/** What stands in the form at first: an amount that advice suggests, or an entry that is corrected. */
export type EntryStart = {
  what: string;
  value: string;
  unit?: string;
  moment?: Moment;
  water?: NewWater;
  gravity?: Gravity;
  /** Doses a day, of a plan. */
  times?: string;
  /** The entry that this one replaces. */
  corrects?: number;
};

/**
 * A test, a dose or a water change: a tap to open, a number, a tap to save. What and unit are those of the last time on
 * this device, the unit else that in which the keeper reads. A doubt of the hub is a question whose large button saves what
 * was most likely meant. After a test the next of the keeper's usual round is a tap away, and from then on none.
 */
export function EntryForm({
  system,
  kind,
  start,
  saved,
}: {
  system: SystemView;
  kind: CorrectedKind;
  start?: EntryStart;
  /** Told what was saved. */
  saved?(words: string): void;
}) {
  const zone = room.value?.timezone ?? 'UTC';
  const choices = choicesOf(kind, system, start?.corrects === undefined ? undefined : start.what);
  const memory = `last.${system.id}.${kind}`;
  const [what, setWhat] = useState(start?.what ?? recall(memory) ?? '');
  const choice = choices.find(({ id }) => id === what) ?? choices[0];
  const unitMemory = `unit.${choice?.id}`;
  const [givenUnit, setGivenUnit] = useState(start?.unit);
  const read = system.metrics.find(({ metric }) => metric === choice?.id)?.shown?.unit;
  const remembered = givenUnit ?? recall(unitMemory) ?? read;
  const unit = choice?.units.find((each) => each === remembered) ?? choice?.units[0] ?? '';
  const [value, setValue] = useState(start?.value ?? '');
  const [answer, setAnswer] = useState<Answer | undefined>(undefined);
  const [key, setKey] = useState(newKey);
  const [water, setWater] = useNewWater(
    () => start?.water ?? (kind === 'water_change' ? recalledWater(system.id) : {}),
  );
  const [moment, setMoment] = useState<Moment>(start?.moment ?? { wall: '', note: '' });
  const [times, setTimes] = useState(start?.times ?? '');
  const [gravity, setGravity] = useState(start?.gravity ?? usualGravity);
  /** The analyte before this one, once the keeper goes through a round. */
  const [before, setBefore] = useState<string | undefined>(undefined);
  const isFirst = useRef(true);
  const input = useRef<HTMLInputElement>(null);
  // Before the form is painted, so that the first digit of a quick hand is not lost.
  useLayoutEffect(() => input.current?.focus(), []);

  if (choice === undefined) return <p class="answer">No stock is configured for {system.name}.</p>;
  const words = kindWords[kind];
  const isGravity = unit === 'sg';
  const name = (part: string) => (kind === 'test' ? `${system.id}-${part}` : `${system.id}-${kind}-${part}`);
  const title = `${start?.corrects === undefined ? 'Log a' : 'Correct a'} ${words.thing}, ${system.name}`;

  /** Another entry than the one that was sent or asked about. */
  function edited(): void {
    setAnswer(undefined);
    setKey(newKey());
  }

  /** What was typed as a document, or why it is none. */
  function document(of: Choice): ReturnType<typeof requestOf> | string {
    const number = numberIn(value);
    if (number === undefined) return words.missing;
    const newWater = storedWater(water);
    if (newWater === undefined) return 'Enter numbers for the new water, or leave a field empty.';
    const when = momentOf(moment, zone);
    if (when === undefined) return 'Enter a day and a time, or leave it empty for now.';
    const scale = isGravity ? gravityOf(gravity) : {};
    if (scale === undefined) return 'Enter the water temperature as a number, or leave it empty.';
    const { path, body } = requestOf(kind, system.id, of, number, unit);
    const perDay = kind === 'plan' && times.trim() !== '' ? { times_per_day: numberIn(times) ?? 0 } : {};
    const corrects = defined({ corrects: start?.corrects });
    return { path, body: { ...body, ...newWater, ...when, ...scale, ...perDay, ...corrects } };
  }

  async function send(of: Choice, change: Record<string, unknown> = {}): Promise<void> {
    const made = document(of);
    if (typeof made === 'string') {
      setAnswer({ tone: 'bad', text: made });
      return;
    }
    const said = `${of.label} ${value.trim()} ${isGravity ? 'sg' : unit}`.trim();
    const outcome = await enter(made.path, { ...made.body, ...change }, said, key);
    if (outcome.is === 'asked' || outcome.is === 'refused') {
      const about = outcome.about ?? (outcome.is === 'refused' ? answer?.about : undefined);
      const tone = outcome.is === 'asked' ? 'ask' : 'bad';
      setAnswer({ tone, text: outcome.text, ...defined({ about }) });
      return;
    }
    if (start?.corrects === undefined) keepMemory(of);
    if (outcome.is === 'stored') saved?.(`${outcome.saved}.`);
    const next = kind === 'test' && start === undefined ? nextOfRound(system.id, of.id) : undefined;
    const offer = next === undefined || before !== undefined ? {} : { next };
    setAnswer(
      outcome.is === 'stored'
        ? { tone: 'good', text: `${outcome.saved}.`, undo: outcome.id, ...offer }
        : {
            tone: 'bad',
            text: `No answer from the hub. ${said} is kept on this device and will be sent later.`,
            ...offer,
          },
    );
    setValue('');
    setMoment((old) => ({ ...old, note: '' }));
    setKey(newKey());
    if (next !== undefined && before !== undefined) goOn(of, next);
  }

  function keepMemory(of: Choice): void {
    // The first of a sitting: with it the next one begins.
    if (isFirst.current) remember(memory, of.id);
    isFirst.current = false;
    if (before !== undefined) learnOrder(system.id, before, of.id);
    if (before !== undefined) setBefore(of.id);
    if (kind === 'water_change') rememberWater(system.id, water);
    if (of.units.length > 1) remember(unitMemory, unit);
  }

  /** The next test of the round, with its own unit. */
  function goOn(from: Choice, next: Choice): void {
    setBefore(from.id);
    setWhat(next.id);
    setGivenUnit(undefined);
    input.current?.focus();
  }

  async function undo(id: number): Promise<void> {
    const problem = await takeBack(id);
    setAnswer(problem === undefined ? { tone: 'good', text: 'Taken back.' } : { tone: 'bad', text: problem });
  }

  const { undo: undoId, about, next } = answer ?? {};
  return (
    <form
      class="enter"
      aria-label={title}
      onSubmit={(event) => {
        event.preventDefault();
        void send(choice);
      }}
    >
      <p class="enter-title">{title}</p>
      <div class="fields">
        {choices.length > 1 && (
          <label for={name('analyte')}>
            {words.what}
            <select
              id={name('analyte')}
              value={choice.id}
              onChange={(event) => {
                setWhat(event.currentTarget.value);
                setGivenUnit(undefined);
                edited();
              }}
            >
              {choices.map((each) => (
                <option key={each.id} value={each.id}>
                  {each.label}
                </option>
              ))}
            </select>
          </label>
        )}
        <label for={name('value')} class="field-value">
          {choice.units.length > 1 || choice.units[0] === '' ? words.value : `${words.value}, ${choice.units[0]}`}
          <input
            id={name('value')}
            ref={input}
            inputMode="decimal"
            autocomplete="off"
            value={value}
            onInput={(event) => {
              setValue(event.currentTarget.value);
              // What is typed stays in its unit, also when the keeper reads in another from now on.
              setGivenUnit(unit);
              edited();
            }}
          />
        </label>
        {choice.units.length > 1 && (
          <label for={name('unit')}>
            Unit
            <select
              id={name('unit')}
              value={unit}
              onChange={(event) => {
                setGivenUnit(event.currentTarget.value);
                edited();
              }}
            >
              {choice.units.map((each) => (
                <option key={each} value={each}>
                  {unitName(each)}
                </option>
              ))}
            </select>
          </label>
        )}
        {kind === 'plan' && (
          <label for={name('times')} class="field-hours">
            Doses a day
            <input
              id={name('times')}
              inputMode="numeric"
              autocomplete="off"
              value={times}
              onInput={(event) => {
                setTimes(event.currentTarget.value);
                edited();
              }}
            />
          </label>
        )}
        <button type="submit" class={answer?.tone === 'ask' ? '' : 'primary'}>
          Save
        </button>
      </div>
      {isGravity && <GravityFields id={name('sg')} gravity={gravity} edit={(to) => [setGravity(to), edited()]} />}
      {kind === 'water_change' && (
        <NewWaterFields id={name('new')} water={water} edit={(to) => [setWater(to), edited()]} />
      )}
      <MomentFields id={name('at')} moment={moment} zone={zone} edit={(to) => [setMoment(to), edited()]} />
      <div class={`answer answer-${answer?.tone ?? 'none'}`} role="status">
        <p>{answer?.text}</p>
        {(answer?.tone === 'ask' || about !== undefined) && (
          <DoubtButtons
            {...defined({ about })}
            said={`${value.trim()} ${unit}`.trim()}
            answer={(which) =>
              void send(choice, which === 'meant' ? (about?.meant?.change ?? {}) : { confirmed: true })
            }
          />
        )}
        {next !== undefined && (
          <button type="button" class="primary" onClick={() => [setAnswer(undefined), goOn(choice, next)]}>
            Next: {next.label}
          </button>
        )}
        {undoId !== undefined && (
          <button type="button" onClick={() => void undo(undoId)}>
            Take it back
          </button>
        )}
      </div>
    </form>
  );
}
