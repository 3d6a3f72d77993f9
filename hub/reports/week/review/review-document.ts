import type { ReviewFigures } from '../../../model/answers/review-schema.ts';
import { type Cell, cell, type Section, say, words } from './document-parts.ts';
import { numberOf } from './figure.ts';
import { percentWords } from './figure-words.ts';
import { reviewTimes } from './review-times.ts';
import { alarmSection, coralSection, probeSection } from './sections-of-room.ts';
import { bandSection, demandSection, doseSection, swingSection, testSection } from './sections-of-water.ts';

export type ReviewDocument = {
  title: string;
  span: string;
  line: string;
  /** The four figures on top. */
  head: { label: string; cell: Cell }[];
  sections: Section[];
};

export function reviewDocument(figures: ReviewFigures): ReviewDocument {
  const { week, site, isOver } = figures;
  const times = reviewTimes(figures);
  return {
    title: `Week ${Number(week.slice(-2))} of ${week.slice(0, 4)}, ${site}`,
    span: `${times.span}${isOver ? '' : ', so far'}${figures.hours === 168 ? '' : `; the clocks changed, the week has ${figures.hours} hours`}`,
    line: figures.line,
    head: headOf(figures),
    sections: [
      toDoSection(figures),
      bandSection(figures),
      swingSection(figures),
      demandSection(figures),
      doseSection(figures),
      testSection(figures),
      alarmSection(figures),
      coralSection(figures),
      probeSection(figures),
      eventSection('happened', 'What happened', 'Nothing logged this week.', figures, times.moment),
      eventSection(
        'changed',
        'What changed',
        'No plan, container, calibration, band or probe changed as far as the hub knows.',
        figures,
        times.moment,
      ),
    ],
  };
}

function headOf({ bandsKept, alarms, toDo, tests }: ReviewFigures): ReviewDocument['head'] {
  const missing = tests.map((test) => numberOf(test.missing)).filter((value) => value !== undefined);
  return [
    { label: 'Time in band', cell: say(bandsKept, (share) => percentWords(share)) },
    { label: 'Alarms', cell: say(alarms.raised, String) },
    {
      label: 'Tests missing',
      cell:
        missing.length === 0
          ? { text: 'no test was due', why: true }
          : cell(String(missing.reduce((sum, value) => sum + value, 0))),
    },
    { label: 'To do', cell: cell(String(toDo.length)) },
  ];
}

function toDoSection({ toDo, isOver }: ReviewFigures): Section {
  const title = isOver ? 'What to do this week' : 'What to do';
  if (toDo.length === 0)
    return {
      id: 'to-do',
      title,
      parts: [
        words(
          'Nothing is due: nothing was out of its band for long, and no alarm, advice, test, calibration, container or inspection is waiting.',
        ),
      ],
    };
  const items = toDo.map(({ systemName, what, reason }) => ({
    text: `${systemName}: ${what}`,
    detail: reason,
    isTask: true,
  }));
  return { id: 'to-do', title, parts: [{ is: 'list', items }] };
}

function eventSection(
  id: 'happened' | 'changed',
  title: string,
  none: string,
  figures: ReviewFigures,
  moment: (timeMs: number) => string,
): Section {
  const items = figures[id].map(({ timeMs, systemName, words: text }) => ({
    text: `${systemName === '' ? '' : `${systemName}: `}${text}`,
    detail: moment(timeMs),
    isTask: false,
  }));
  return { id, title, parts: [items.length === 0 ? words(none) : { is: 'list', items }] };
}
