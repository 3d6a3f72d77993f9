import { useState } from 'preact/hooks';
import type { RoomView, SystemView } from '../../../api/room.ts';
import { countdown } from '../kit/countdown.ts';
import { unbroken } from '../kit/words.ts';
import { Answers } from '../room/advice-answers.tsx';
import { EntryForm } from '../room/entry-form.tsx';
import { hubNowMs, nowMs } from '../room/room-signals.ts';
import { isPhone } from '../room/system-places.ts';
import { actOn, placeOf } from './acts.ts';
import { type Deed, todo } from './now-state.ts';

/** More are folded away: a list that is longer than a screen is not read. */
const mostShown = 6;
const mostShownOnPhone = 4;

/** A sentence of more characters needs the whole width of a phone: its button stands below it. */
const longSentence = 48;

const urgencyWords: Record<Deed['urgency'], string> = { now: 'now', today: 'today', soon: 'soon' };

/** What a person should do now or today, over all tanks, each with the one button that settles it. */
export function NowPart({ view }: { view: RoomView }) {
  const list = todo.value;
  if (list === undefined) return null;
  const most = isPhone.value ? mostShownOnPhone : mostShown;
  const [shown, folded] = [list.deeds.slice(0, most), list.deeds.slice(most)];
  return (
    <section class="now" aria-labelledby="now">
      <h2 id="now" class={list.calm === undefined ? '' : 'visually-hidden'}>
        Now
      </h2>
      {list.calm !== undefined && <p class="now-calm">{list.calm}</p>}
      {shown.length > 0 && (
        <ol class="deeds">
          {shown.map((deed) => (
            <DeedLine key={deed.id} deed={deed} view={view} />
          ))}
        </ol>
      )}
      {folded.length > 0 && (
        <details class="folded">
          <summary>{folded.length} more</summary>
          <ol class="deeds">
            {folded.map((deed) => (
              <DeedLine key={deed.id} deed={deed} view={view} />
            ))}
          </ol>
        </details>
      )}
    </section>
  );
}

/** One deed with its button. */
export function DeedLine({ deed, view }: { deed: Deed; view: RoomView }) {
  const [isOpen, setOpen] = useState(false);
  const [trouble, setTrouble] = useState('');
  const [isBusy, setBusy] = useState(false);
  const tank = view.systems.find(({ id }) => id === deed.tank);
  const address = placeOf(deed);
  const isInPlace = deed.act.do === 'test' || deed.act.do === 'dose';

  async function act(): Promise<void> {
    // A second tap of a wet finger is not a second deed.
    if (isBusy) return;
    setBusy(true);
    setTrouble((await actOn(deed)) ?? '');
    setBusy(false);
  }

  return (
    <li class={`deed deed-${deed.urgency}${deed.what.length > longSentence ? ' deed-long' : ''}`} data-deed={deed.id}>
      <div class="deed-said">
        <p class="deed-tank">
          <span class="deed-when">{urgencyWords[deed.urgency]}</span> {tank?.name ?? ''}
        </p>
        <p class="deed-what">{unbroken(deed.what)}</p>
        {deed.more !== undefined && <p class="deed-more">{unbroken(deed.more)}</p>}
      </div>
      {deed.clock !== undefined && <DeedClock clock={deed.clock} />}
      {address !== undefined ? (
        <a class={`deed-act ${deed.urgency === 'now' ? 'primary' : ''}`} href={address}>
          {deed.words}
          <span class="visually-hidden">: {deed.what}</span>
        </a>
      ) : (
        <button
          type="button"
          class={`deed-act ${deed.urgency === 'now' ? 'primary' : ''}`}
          {...(isInPlace ? { 'aria-expanded': isOpen } : { 'aria-busy': isBusy })}
          onClick={() => (isInPlace ? setOpen(!isOpen) : void act())}
        >
          {deed.words}
          <span class="visually-hidden">: {deed.what}</span>
        </button>
      )}
      {isOpen && tank !== undefined && <InPlace deed={deed} system={tank} />}
      {trouble !== '' && (
        <p class="asked-error" role="alert">
          {trouble}
        </p>
      )}
    </li>
  );
}

function DeedClock({ clock }: { clock: NonNullable<Deed['clock']> }) {
  // Read, so that each second draws it again; the hub's clock decides.
  void nowMs.value;
  const leftMs = clock.endsMs - hubNowMs();
  return (
    <p class={`deed-clock ${leftMs < 0 ? 'deed-clock-over' : ''}`} role="timer">
      {countdown(leftMs)}
      <small>{leftMs < 0 ? ' over' : ' left'}</small>
    </p>
  );
}

/** A test in two taps and a number, or what can be said to advice, without leaving the list. */
function InPlace({ deed: { act }, system }: { deed: Deed; system: SystemView }) {
  if (act.do === 'test') {
    const [analyte = ''] = act.analytes;
    return (
      <div class="deed-place">
        <EntryForm key={analyte} system={system} kind="test" start={{ what: analyte, value: '' }} />
      </div>
    );
  }
  if (act.do !== 'dose') return null;
  const item = system.advice.find(({ analyte }) => analyte === act.analyte);
  if (item === undefined) return null;
  return (
    <div class="deed-place">
      <p>{unbroken(item.advice.reason)}</p>
      {item.advice.cautions.length > 0 && (
        <ul class="cautions">
          {item.advice.cautions.map((caution) => (
            <li key={caution}>{caution}</li>
          ))}
        </ul>
      )}
      <Answers system={system} item={item} />
    </div>
  );
}
