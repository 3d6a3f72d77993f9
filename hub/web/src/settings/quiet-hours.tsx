import { useState } from 'preact/hooks';
import type { SettingsView } from '../../../api/settings.ts';
import type { Change } from './unit-choice.tsx';

type Hours = SettingsView['quiet_hours']['medium'];

const names = { medium: 'Act today (medium)', low: 'Have a look (low)' } as const;

/** When alarms of a priority wait for the morning. */
export function QuietHours({ priority, hours, change }: { priority: 'medium' | 'low'; hours: Hours; change: Change }) {
  const held = hours.chosen ?? hours.file;
  const [from, setFrom] = useState(held.from);
  const [to, setTo] = useState(held.to);
  const name = names[priority];
  const set = (window: { from: string; to: string } | null) => {
    const { from: start, to: end } = window ?? hours.file;
    const said = start === end ? `${name}: never quiet.` : `${name}: quiet from ${start} to ${end}.`;
    return change({ quiet_hours: { [priority]: window } }, said);
  };
  return (
    <form
      class="fields quiet"
      aria-label={name}
      onSubmit={(event) => {
        event.preventDefault();
        void set({ from, to });
      }}
    >
      <b>{name}</b>
      <label for={`${priority}-from`}>
        From
        <input
          id={`${priority}-from`}
          type="time"
          required
          value={from}
          onInput={(event) => setFrom(event.currentTarget.value)}
        />
      </label>
      <label for={`${priority}-to`}>
        To
        <input
          id={`${priority}-to`}
          type="time"
          required
          value={to}
          onInput={(event) => setTo(event.currentTarget.value)}
        />
      </label>
      <button type="submit">
        Save<span class="visually-hidden"> the quiet hours of {name}</span>
      </button>
      {hours.chosen !== null && (
        <button type="button" onClick={() => void set(null)}>
          Back to {hours.file.from} to {hours.file.to}
          <span class="visually-hidden">, {name}</span>
        </button>
      )}
    </form>
  );
}
