import { useState } from 'preact/hooks';

export type Choice = { words: string; minutes: number };

/** How long: a few ready choices, or hours of one's own. `minutes` is undefined while what was typed is no time up to the most. */
export function DurationField({
  id,
  choices,
  mostHours,
  minutes,
  choose,
}: {
  id: string;
  choices: readonly Choice[];
  mostHours: number;
  minutes: number | undefined;
  choose(minutes: number | undefined): void;
}) {
  const [own, setOwn] = useState('');
  return (
    <fieldset class="duration">
      <legend>For how long, at most {mostHours > 48 ? `${mostHours / 24} days` : `${mostHours} hours`}</legend>
      <div class="buttons">
        {choices.map((each) => (
          <button
            key={each.words}
            type="button"
            aria-pressed={own === '' && minutes === each.minutes}
            onClick={() => {
              setOwn('');
              choose(each.minutes);
            }}
          >
            {each.words}
          </button>
        ))}
        <label for={id} class="field-hours">
          Or hours
          <input
            id={id}
            inputMode="decimal"
            autocomplete="off"
            value={own}
            onInput={(event) => {
              const text = event.currentTarget.value;
              setOwn(text);
              const hours = Number(text.trim().replace(',', '.'));
              const isTime = text.trim() !== '' && hours > 0 && hours <= mostHours;
              choose(isTime ? hours * 60 : text.trim() === '' ? choices[0]?.minutes : undefined);
            }}
          />
        </label>
      </div>
    </fieldset>
  );
}
