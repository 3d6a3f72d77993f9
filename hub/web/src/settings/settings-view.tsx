import { useState } from 'preact/hooks';
import { SignOut } from '../access/sign-out.tsx';
import type { PlaceProps } from '../kit/places.ts';
import { useAnswer } from '../kit/use-answer.ts';
import { change as changeRoom } from '../room/room-signals.ts';
import { chooseTextSize, chooseTheme, textSize, textSizes, theme, themes } from './device-look.ts';
import { QuietHours } from './quiet-hours.tsx';
import { type Change, UnitChoice } from './unit-choice.tsx';
import '../style/settings.css';

const askEveryMs = 60_000;

const themeNames = { device: 'Same as device', dark: 'Dark', light: 'Light' } as const;
const sizeNames = { 100: 'Normal', 115: 'Larger', 130: 'Largest' } as const;

function ThisDevice() {
  return (
    <section class="setting-group" aria-labelledby="this-device">
      <h3 id="this-device">This device</h3>
      <fieldset>
        <legend>Theme</legend>
        <div class="buttons">
          {themes.map((each) => (
            <button key={each} type="button" aria-pressed={theme.value === each} onClick={() => chooseTheme(each)}>
              {themeNames[each]}
            </button>
          ))}
        </div>
      </fieldset>
      <fieldset>
        <legend>Text size</legend>
        <div class="buttons">
          {textSizes.map((each) => (
            <button
              key={each}
              type="button"
              aria-pressed={textSize.value === each}
              onClick={() => chooseTextSize(each)}
            >
              {sizeNames[each]}
            </button>
          ))}
        </div>
      </fieldset>
    </section>
  );
}

/** What can be set in the page. Units and quiet hours are the hub's, for everybody; the look is this device's. */
export default function SettingsView(_: PlaceProps) {
  const { answer: told, failure, again } = useAnswer('GET /api/settings', {}, askEveryMs);
  const [answer, setAnswer] = useState<{ isBad: boolean; text: string }>({ isBad: false, text: '' });

  const change: Change = async (body, said) => {
    const outcome = await changeRoom('POST /api/settings', { body });
    setAnswer(
      outcome.ok
        ? { isBad: false, text: said }
        : { isBad: true, text: `${outcome.problem.title}. ${outcome.problem.detail}` },
    );
    again();
  };

  return (
    <main class="page">
      <h2 tabIndex={-1} data-view-title>
        Settings
      </h2>
      <ThisDevice />
      <SignOut />
      <section class="setting-group" aria-labelledby="whole-room">
        <h3 id="whole-room">The whole room</h3>
        <p>
          For every device and for alarms on the phone. Takes effect at once and overrides the configuration file, which
          stays as it is.
        </p>
        <p class={answer.isBad ? 'answer answer-bad' : 'answer'} role="status">
          {answer.text}
        </p>
        {failure !== undefined && <p role="alert">The hub does not answer; what you see may be old.</p>}
        {told !== undefined && (
          <div class="settings">
            <section aria-labelledby="units">
              <h4 id="units">Units</h4>
              <p>For what can be shown in more than one.</p>
              <ul class="units">
                {told.units
                  .filter(({ units }) => units.length > 1)
                  .map((each) => (
                    <UnitChoice key={each.metric} choice={each} change={change} />
                  ))}
              </ul>
            </section>
            <section aria-labelledby="quiet">
              <h4 id="quiet">Quiet hours</h4>
              <p>
                In the room’s time ({told.timezone}). Act now alarms always come at once. The same time twice: never
                quiet.
              </p>
              {(['medium', 'low'] as const).map((priority) => (
                <QuietHours
                  key={`${priority} ${JSON.stringify(told.quiet_hours[priority])}`}
                  priority={priority}
                  hours={told.quiet_hours[priority]}
                  change={change}
                />
              ))}
            </section>
          </div>
        )}
      </section>
    </main>
  );
}
