import { defined } from '#rules/plain-data/defined.ts';
import { instantOf, wallOf } from '../corals/moments.ts';
import { momentText } from '../kit/times.ts';
import { hubNowMs } from './room-signals.ts';

/** When it was and what there is to say of it, as typed; empty: now, and nothing. */
export type Moment = { wall: string; note: string };

/** For the entry: nothing for now. Undefined for what is no time. */
export function momentOf({ wall, note }: Moment, zone: string): { time?: string; note?: string } | undefined {
  const time = wall === '' ? undefined : instantOf(wall, zone);
  if (wall !== '' && time === undefined) return undefined;
  return { ...defined({ time }), ...(note.trim() === '' ? {} : { note: note.trim() }) };
}

/** The time of an entry and a note on it. Folded away: most entries are of now, and two taps and a number. */
export function MomentFields({
  id,
  moment,
  zone,
  edit,
}: {
  id: string;
  moment: Moment;
  zone: string;
  edit(moment: Moment): void;
}) {
  const time = moment.wall === '' ? undefined : instantOf(moment.wall, zone);
  return (
    <details class="moment">
      <summary>
        {time === undefined ? 'Now' : momentText(Date.parse(time), zone)}
        {moment.note.trim() === '' ? '' : `, ${moment.note.trim()}`}
        <span class="moment-hint">{' · time, note'}</span>
      </summary>
      <div class="fields">
        <label for={`${id}-time`}>
          When
          <input
            id={`${id}-time`}
            type="datetime-local"
            value={moment.wall}
            max={wallOf(hubNowMs(), zone)}
            onInput={(event) => edit({ ...moment, wall: event.currentTarget.value })}
          />
        </label>
        <label for={`${id}-note`} class="field-note">
          Note
          <input
            id={`${id}-note`}
            autocomplete="off"
            maxLength={500}
            value={moment.note}
            onInput={(event) => edit({ ...moment, note: event.currentTarget.value })}
          />
        </label>
      </div>
    </details>
  );
}
