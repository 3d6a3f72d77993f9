import type { Cell, Part, Section } from './document-parts.ts';
import { type PlotShape, plotHeight, plotWidth } from './plot-shape.ts';
import type { ReviewDocument } from './review-document.ts';
import { reviewStyle } from './review-style.ts';

/** Nothing may be loaded and nothing may run, even if a name got past the escaping. */
export const reviewPolicy = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'";

/** Text for an element or an attribute in double quotes: names, notes and reasons come from people. */
export function escaped(text: string): string {
  return text
    .replaceAll('&', '&amp;')
    .replaceAll('<', '&lt;')
    .replaceAll('>', '&gt;')
    .replaceAll('"', '&quot;')
    .replaceAll("'", '&#39;');
}

/** The review as one file that needs nothing else: style and drawings are inside, no script, no request to anywhere. */
export function reviewHtml(document: ReviewDocument, isInvented: boolean): string {
  const { title, span, line, head, sections } = document;
  const heads = head.map(
    ({ label, cell }) => `<div><dt>${escaped(label)}</dt><dd${classOf(cell)}>${escaped(cell.text)}</dd></div>`,
  );
  return [
    '<!doctype html>',
    '<html lang="en">',
    '<head>',
    '<meta charset="utf-8">',
    `<meta http-equiv="Content-Security-Policy" content="${reviewPolicy}">`,
    '<meta name="viewport" content="width=device-width, initial-scale=1">',
    '<meta name="color-scheme" content="light dark">',
    `<title>${escaped(title)}</title>`,
    `<style>${reviewStyle}</style>`,
    '</head>',
    '<body>',
    '<header>',
    `<h1>${escaped(title)}</h1>`,
    `<p class="span">${escaped(span)}</p>`,
    ...(isInvented ? ['<p class="invented">This room, its keeper and its water are invented.</p>'] : []),
    `<p class="line">${escaped(line)}</p>`,
    `<dl class="figures">${heads.join('')}</dl>`,
    '</header>',
    '<main>',
    ...sections.map(sectionHtml),
    '</main>',
    '</body>',
    '</html>',
    '',
  ].join('\n');
}

function sectionHtml({ id, title, parts }: Section): string {
  return `<section id="${escaped(id)}" aria-labelledby="${escaped(id)}-title">\n<h2 id="${escaped(id)}-title">${escaped(title)}</h2>\n${parts.map(partHtml).join('\n')}\n</section>`;
}

function partHtml(part: Part): string {
  switch (part.is) {
    case 'words':
      return `<p class="words">${escaped(part.text)}</p>`;
    case 'list':
      return `<ul>${part.items
        .map(
          ({ text, detail, isTask }) =>
            `<li${isTask ? ' class="task"' : ''}><span>${escaped(text)}</span> <small>${escaped(detail)}</small></li>`,
        )
        .join('')}</ul>`;
    case 'table': {
      const heads = part.head.map((text) => `<th scope="col">${escaped(text)}</th>`).join('');
      return `<table><caption>${escaped(part.name)}</caption><thead><tr>${heads}</tr></thead><tbody>${part.rows
        .map((row) => rowHtml(row, part.head))
        .join('')}</tbody></table>`;
    }
    case 'plots':
      return `<div class="plots">${part.plots
        .map(
          ({ title, detail, plot }) =>
            `<figure><figcaption><b>${escaped(title)}</b> <small>${escaped(detail)}</small></figcaption>${svgOf(plot)}</figure>`,
        )
        .join('')}</div>`;
  }
}

function rowHtml([first, ...rest]: readonly Cell[], head: readonly string[]): string {
  const cells = rest.map(
    (cell, index) => `<td data-of="${escaped(head[index + 1] ?? '')}"${classOf(cell)}>${escaped(cell.text)}</td>`,
  );
  return `<tr><th scope="row">${escaped(first?.text ?? '')}</th>${cells.join('')}</tr>`;
}

function classOf(cell: Cell): string {
  const name = cell.why ? 'why' : cell.bad ? 'bad' : '';
  return name === '' ? '' : ` class="${name}"`;
}

function svgOf({ words, shapes, texts }: PlotShape): string {
  const paths = shapes.map(({ kind, d }) => `<path class="plot-${kind}" d="${escaped(d)}"/>`);
  const labels = texts.map(
    ({ x, y, anchor, text }) => `<text x="${x}" y="${y}" text-anchor="${anchor}">${escaped(text)}</text>`,
  );
  return `<svg viewBox="0 0 ${plotWidth} ${plotHeight}" role="img" aria-label="${escaped(words)}">${paths.join('')}${labels.join('')}</svg>`;
}
