import { useEffect, useState } from 'preact/hooks';
import type { RoomView } from '../../../api/room.ts';
import type { Cell, Part, Section } from '../../../reports/week/review/document-parts.ts';
import { inKeepersUnits, type ShownOf } from '../../../reports/week/review/in-keepers-units.ts';
import { type PlotShape, plotHeight, plotWidth } from '../../../reports/week/review/plot-shape.ts';
import { type ReviewDocument, reviewDocument } from '../../../reports/week/review/review-document.ts';
import { askRoute, slowlyWithinMs } from '../kit/ask.ts';
import { isPhone } from '../room/system-places.ts';
import { WeekTables } from './week-tables.tsx';

type State = { is: 'loading' } | { is: 'lost'; words: string } | { is: 'here'; review: ReviewDocument };

async function load(week: string, shownOf: ShownOf): Promise<State> {
  const outcome = await askRoute('GET /api/weeks/:week/review', { params: { week } }, { withinMs: slowlyWithinMs });
  if (outcome.ok) return { is: 'here', review: reviewDocument(inKeepersUnits(outcome.body, shownOf)) };
  const { status } = outcome.problem;
  if (status === 0) return { is: 'lost', words: 'The hub does not answer. Open the week again when it is back.' };
  if (status === 404 || status === 400) return { is: 'lost', words: `No week ${week}. Weeks are named like 2026-W47.` };
  return { is: 'lost', words: 'The hub could not put this week together; see its log.' };
}

/** The keeper's units are one for the whole room, whatever system shows the metric. */
function shownIn(view: RoomView): ShownOf {
  const all = view.systems.flatMap(({ metrics }) => metrics);
  return (metric) => all.find((each) => each.metric === metric)?.shown ?? null;
}

/** One week: the figures, what happened, what changed, what is to be done. The same parts as the file to print. */
export function WeekReview({ week, view }: { week: string; view: RoomView }) {
  const [state, setState] = useState<State>({ is: 'loading' });
  useEffect(() => {
    let isCurrent = true;
    load(week, shownIn(view)).then((found) => {
      if (isCurrent) setState(found);
    });
    return () => {
      isCurrent = false;
    };
  }, [week]);

  return (
    <main class="page week">
      <p class="way-back">
        <a href="#/week">All weeks</a>
      </p>
      {state.is === 'here' ? (
        <Review week={week} review={state.review} />
      ) : (
        <>
          <h2 tabIndex={-1} data-view-title>
            {week}
          </h2>
          <p role="status">{state.is === 'loading' ? 'Putting the week together …' : state.words}</p>
        </>
      )}
    </main>
  );
}

/** What is folded on a phone belongs on paper all the same. */
function printAll(): void {
  for (const folded of document.querySelectorAll<HTMLDetailsElement>('.week details')) folded.open = true;
  print();
}

function Review({ week, review }: { week: string; review: ReviewDocument }) {
  return (
    <>
      <h2 tabIndex={-1} data-view-title>
        {review.title}
      </h2>
      <p class="week-span">{review.span}</p>
      <p class="week-line">{review.line}</p>
      <div class="week-actions">
        <button type="button" onClick={printAll}>
          Print
        </button>
        <a href={`./api/weeks/${week}/review.html`} target="_blank" rel="noreferrer">
          As one page
        </a>
        <WeekTables week={week} />
      </div>
      <dl class="week-head">
        {review.head.map(({ label, cell }) => (
          <div key={label}>
            <dt>{label}</dt>
            <dd class={classOf(cell)}>{cell.text}</dd>
          </div>
        ))}
      </dl>
      {review.sections.map((section) => (
        <SectionView key={section.id} section={section} />
      ))}
    </>
  );
}

/** Read on every visit; the other sections are a tap away on a phone. */
const alwaysOpen = new Set(['to-do']);

function SectionView({ section: { id, title, parts } }: { section: Section }) {
  const inside = parts.map((part, index) => (
    // Parts have no name, and their order is theirs for good.
    <PartView key={index} part={part} />
  ));
  if (isPhone.value && !alwaysOpen.has(id))
    return (
      <details class="week-section">
        <summary>
          <h3 id={`week-${id}`}>{title}</h3>
        </summary>
        {inside}
      </details>
    );
  return (
    <section class="week-section" aria-labelledby={`week-${id}`}>
      <h3 id={`week-${id}`}>{title}</h3>
      {inside}
    </section>
  );
}

function PartView({ part }: { part: Part }) {
  switch (part.is) {
    case 'words':
      return <p class="week-words">{part.text}</p>;
    case 'list':
      return (
        <ul class="week-list">
          {part.items.map(({ text, detail, isTask }) => (
            <li key={`${text} ${detail}`} class={isTask ? 'week-task' : undefined}>
              <span>{text}</span> <small>{detail}</small>
            </li>
          ))}
        </ul>
      );
    case 'table':
      return (
        <table class="week-table">
          <caption class="visually-hidden">{part.name}</caption>
          <thead>
            <tr>
              {part.head.map((text) => (
                <th key={text} scope="col">
                  {text}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {part.rows.map((row) => (
              <RowView key={row[0]?.text} row={row} head={part.head} />
            ))}
          </tbody>
        </table>
      );
    case 'plots':
      return (
        <div class="week-plots">
          {part.plots.map(({ title, detail, plot }) => (
            <figure key={plot.words}>
              <figcaption>
                <b>{title}</b> <small>{detail}</small>
              </figcaption>
              <PlotView plot={plot} />
            </figure>
          ))}
        </div>
      );
  }
}

function RowView({ row: [first, ...rest], head }: { row: Cell[]; head: string[] }) {
  return (
    <tr>
      <th scope="row">{first?.text}</th>
      {rest.map((cell, index) => (
        <td key={head[index + 1]} data-of={head[index + 1]} class={classOf(cell)}>
          {cell.text}
        </td>
      ))}
    </tr>
  );
}

function PlotView({ plot }: { plot: PlotShape }) {
  return (
    <svg viewBox={`0 0 ${plotWidth} ${plotHeight}`} role="img" aria-label={plot.words}>
      {plot.shapes.map(({ kind, d }) => (
        <path key={`${kind} ${d}`} class={`plot-${kind}`} d={d} />
      ))}
      {plot.texts.map(({ x, y, anchor, text }) => (
        <text key={`${x} ${y}`} x={x} y={y} text-anchor={anchor}>
          {text}
        </text>
      ))}
    </svg>
  );
}

function classOf(cell: Cell): string | undefined {
  return cell.why ? 'week-why' : cell.bad ? 'week-bad' : undefined;
}
