import type { Store } from '#adapters/ports/store.ts';
import type { Tables } from '#adapters/ports/tables.ts';
import type { KeepersUnits } from '#rules/bands/watched-room.ts';
import type { ReviewFigures } from '../../model/answers/review-schema.ts';
import { type IsoWeek, isIsoWeek } from '../../model/calendar/iso-week.ts';
import type { Config } from '../../model/config/schema.ts';
import { shownUnit } from '../../model/settings/shown-unit.ts';
import { demandTable } from './demand-table.ts';
import { inKeepersUnits } from './review/in-keepers-units.ts';
import { reviewDocument } from './review/review-document.ts';
import { reviewFigures } from './review/review-figures.ts';
import { reviewHtml } from './review/review-html.ts';
import { type WeekFile, weeklyFiles } from './weekly-files.ts';

export type WeekReviewsParts = {
  config: Config;
  store: Pick<Store, 'series' | 'summaries' | 'readings' | 'journal' | 'document' | 'commit'>;
  line: Tables['line'];
  units(): KeepersUnits;
  isInvented: boolean;
  nowMs(): number;
};

/** A week as files for a spreadsheet, as figures, and as one page to read and to print. */
export type WeekReviews = {
  /** The CSV files; none for a text that names no week. */
  tables(week: string): WeekFile[];
  /** `demand-<week>.csv`; undefined for a text that names no week. As slow as the review, whose figures it holds. */
  demand(week: string): WeekFile | undefined;
  /** Undefined for a text that names no week. */
  review(week: string): ReviewFigures | undefined;
  /** `review-<week>.html`, whole in itself; undefined for a text that names no week. */
  page(week: string): WeekFile | undefined;
  /** All of them, as they are written when the week is over. */
  files(week: IsoWeek): WeekFile[];
};

export function createWeekReviews(parts: WeekReviewsParts): WeekReviews {
  const { config, store, isInvented, units } = parts;

  function review(week: string): ReviewFigures | undefined {
    return isIsoWeek(week)
      ? reviewFigures({ config, store, isInvented, units: units() }, week, parts.nowMs())
      : undefined;
  }

  function demandOf(figures: ReviewFigures): WeekFile {
    const text = demandTable(figures)
      .map((cells) => parts.line(cells))
      .join('');
    return { name: `demand-${figures.week}.csv`, text };
  }

  function pageOf(figures: ReviewFigures): WeekFile {
    const week = figures.week;
    const told = inKeepersUnits(figures, (metric) => shownUnit(metric, units()));
    return { name: `review-${week}.html`, text: reviewHtml(reviewDocument(told), isInvented) };
  }

  const tables = (week: string) => weeklyFiles(parts, week);
  const from = (make: (figures: ReviewFigures) => WeekFile) => (week: string) => {
    const figures = review(week);
    return figures === undefined ? undefined : make(figures);
  };
  return {
    tables,
    review,
    demand: from(demandOf),
    page: from(pageOf),
    files(week) {
      const figures = review(week);
      return [...tables(week), ...(figures === undefined ? [] : [demandOf(figures), pageOf(figures)])];
    },
  };
}
