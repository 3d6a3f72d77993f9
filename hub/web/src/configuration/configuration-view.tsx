import type { ConfigurationView as Configuration } from '../../../api/configuration.ts';
import type { PlaceProps } from '../kit/places.ts';
import { StateShape } from '../kit/state-shape.tsx';
import { useAnswer } from '../kit/use-answer.ts';
import { ChangeFile } from './change-file.tsx';
import '../style/settings.css';

const askEveryMs = 60_000;

const stateWords = {
  as_started: 'The file is as it was when the hub started.',
  changed:
    'The file has changed since the hub started; the hub goes on with what it read then. Restart the hub to use the new one.',
  unreadable: 'The file cannot be read any more; the hub goes on with what it read at its start.',
} as const;

/** A mistake without its file and line, which stand beside it. */
function mistakeText(text: string, path: string | null, line: number): string {
  const start = `${path}:${line}`;
  return text.startsWith(start) ? text.slice(start.length).trim() : text;
}

function WarningItem({ warning, path }: { warning: string; path: string | null }) {
  const line =
    path !== null && warning.startsWith(`${path}:`) ? Number.parseInt(warning.slice(path.length + 1), 10) : NaN;
  return (
    <li>
      <b>{Number.isNaN(line) ? 'Warning' : `Line ${line}`}</b> <span>{mistakeText(warning, path, line)}</span>
    </li>
  );
}

function FileState({ file, path }: { file: NonNullable<Configuration['file']>; path: string | null }) {
  const { state, problems, warnings } = file;
  const isBad = problems.length > 0;
  return (
    <>
      <p role="status" data-file-state={state}>
        <StateShape order={isBad ? 'outside' : state === 'as_started' ? 'steady' : 'unsure'} /> {stateWords[state]}
      </p>
      {isBad && (
        <>
          <p>
            <b>
              {problems.length === 1 ? 'One mistake' : `${problems.length} mistakes`}: the hub would not start with it.
            </b>
          </p>
          <ol class="faults" aria-label="Mistakes in the file">
            {problems.map(({ line, column, text }) => (
              <li key={`${line}:${column}:${text}`}>
                <b>Line {line}</b> <span>{mistakeText(text, path, line)}</span>
              </li>
            ))}
          </ol>
        </>
      )}
      {warnings.length > 0 && (
        <ul class="faults" aria-label="Warnings">
          {warnings.map((warning) => (
            <WarningItem key={warning} warning={warning} path={path} />
          ))}
        </ul>
      )}
    </>
  );
}

/** What the hub was told, whether the file on disk would still do, and what of it can be changed here. */
export default function ConfigurationView({ view }: PlaceProps) {
  const { answer: told, failure, again } = useAnswer('GET /api/configuration', {}, askEveryMs);
  return (
    <main class="page">
      <h2 tabIndex={-1} data-view-title>
        Configuration
      </h2>
      {failure !== undefined && <p role="alert">Not shown: the hub does not answer, or you may not see it.</p>}
      {told !== undefined && (
        <>
          <p class="config-path">
            {told.path === null ? (
              'The hub runs without a configuration file.'
            ) : (
              <>
                Read from <code>{told.path}</code>.
              </>
            )}
          </p>
          {told.file !== null && <FileState file={told.file} path={told.path} />}
          {told.file !== null && (
            <div class="buttons">
              <button type="button" onClick={again}>
                Read the file again
              </button>
            </div>
          )}
          {told.chosen_in_page.length > 0 && (
            <p>
              Chosen in the page, over the file: {told.chosen_in_page.join(', ')}. See <a href="#/settings">Settings</a>
              .
            </p>
          )}
          {told.editable !== null && <ChangeFile editable={told.editable} zone={view.timezone} changed={again} />}
          <h3 id="in-force">In force, defaults included</h3>
          {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a text that scrolls must be reached by keys */}
          <section class="config-text" tabIndex={0} aria-labelledby="in-force">
            <pre>{told.text}</pre>
          </section>
        </>
      )}
    </main>
  );
}
