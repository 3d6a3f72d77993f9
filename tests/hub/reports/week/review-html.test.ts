import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Store } from '#adapters/ports/store.ts';
import { percentWords } from '#hub/reports/week/review/figure-words.ts';
import { weekPlot } from '#hub/reports/week/review/plot-shape.ts';
import { reviewDocument } from '#hub/reports/week/review/review-document.ts';
import { reviewFigures } from '#hub/reports/week/review/review-figures.ts';
import { reviewHtml } from '#hub/reports/week/review/review-html.ts';
import { alarm, emptyStore, entry, everyTenMinutes, type OpenedStore, reviewRoom } from './review-room.ts';

const mondayMs = Date.parse('2026-11-16T00:00:00Z');
const nextMondayMs = Date.parse('2026-11-23T00:00:00Z');
const hourMs = 3_600_000;
const hostile = `<img src=x onerror="alert(1)">'&"</style><script>`;

describe('the week as one page', () => {
  let opened: OpenedStore;
  let store: Store;
  const html = (config = reviewRoom()) => {
    const figures = reviewFigures({ config, store, units: {}, isInvented: true }, '2026-W47', nextMondayMs);
    return reviewHtml(reviewDocument(figures), figures.isInvented);
  };
  /** Without the values of attributes, which are in double quotes throughout. */
  const bare = (page: string) => page.replaceAll(/="[^"]*"/g, '=');

  beforeAll(() => {
    opened = emptyStore(nextMondayMs);
    store = opened.store;
    store.add(everyTenMinutes('t1', 'temperature', mondayMs, nextMondayMs, (timeMs) => 25.5 + (timeMs % 3)));
    store.flush();
    store.commit({
      entries: [
        alarm('display/temperature/out_of_band/high', 'raised', mondayMs + hourMs, { message: `Hot ${hostile}` }),
        alarm(`display/ph/silent_probe/${hostile}`, 'raised', mondayMs + hourMs),
        entry('test', mondayMs + hourMs, { analyte: 'alkalinity', value: 8.2, note: hostile }),
        entry('dose', mondayMs + hourMs, { substance: hostile, grams: 3 }),
        entry('plan', mondayMs + hourMs, { stock: hostile, ml_per_day: 3 }),
        entry('arrival', mondayMs + hourMs, { event: 'arrived', name: hostile, pieces: [{ kind: hostile, count: 2 }] }),
        entry('piece', mondayMs, { event: 'added', piece: 'p1', kind: hostile }),
        entry('piece', mondayMs + hourMs, { event: 'lost', piece: 'p1', cause: hostile }),
        entry('calibration', mondayMs + hourMs, {
          probe: hostile,
          by: hostile,
          why: hostile,
          verdict: { state: hostile },
        }),
        entry('advice', mondayMs + hourMs, { analyte: hostile, advice: { kind: 'dose', reason: hostile } }),
      ],
    });
  });

  afterAll(() => opened.remove());

  test('a name that somebody typed becomes mark-up', () => {
    const page = html(reviewRoom(`Tank ${hostile}`));
    // Hostile words stand there eleven times and more, and none of them as an element.
    expect(page.split('&lt;img src=x onerror=&quot;alert(1)&quot;&gt;&#39;&amp;&quot;').length).toBeGreaterThan(11);
    const elements = new Set([...page.matchAll(/<([a-z0-9]+)/g)].map((match) => match[1]));
    expect(elements).not.toContain('script');
    expect(elements).not.toContain('img');
    expect(page.match(/<style>/g)).toHaveLength(1);
    expect(page.match(/<\/style>/g)).toHaveLength(1);
    expect(bare(page)).not.toMatch(/<[^>]*\son[a-z]+=/);
  });

  test('it needs anything from elsewhere', () => {
    const page = html();
    expect(page).not.toMatch(/https?:\/\//);
    expect(bare(page)).not.toMatch(/<[^>]*\s(src|href)=/);
    expect(page).not.toMatch(/url\(|@import/);
    expect(page).toContain(`content="default-src 'none'; style-src 'unsafe-inline';`);
    expect(page).toContain('This room, its keeper and its water are invented.');
    expect(page.match(/<svg /g)?.length).toBeGreaterThanOrEqual(3);
  });

  test('a figure that is not known is shown as 0', () => {
    const rows = html()
      .split('<tr>')
      .filter((row) => row.includes(': pH<') && row.includes('data-of="Gaps"'));
    expect(rows).toHaveLength(1);
    expect(rows[0]).toContain('<td data-of="Gaps" class="why">no signal this week</td>');
    expect(rows[0]).not.toContain('>0<');
  });
});

test('a week in which the band was nearly kept is rounded up to all of it', () => {
  expect(percentWords(0.9999)).toBe('99.9 %');
  expect(percentWords(1)).toBe('100 %');
  expect(percentWords(0.98, 0)).toBe('98 %');
  expect(percentWords(0.57)).toBe('57 %');
});

test('a gap in the readings is drawn over', () => {
  const hour = (index: number) => ({ timeMs: mondayMs + index * hourMs, min: 25, mean: 25.1, max: 25.2 });
  const plot = weekPlot({
    ...{ words: 'invented', fromMs: mondayMs, toMs: nextMondayMs, decimals: 1, days: [], band: { low: 24, high: 26 } },
    hours: [0, 1, 2, 6, 7].map(hour),
  });
  expect(plot?.shapes.filter(({ kind }) => kind === 'ribbon')).toHaveLength(2);
});
