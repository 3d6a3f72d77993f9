/**
 * The style of the file. Colours are those of the page: light unless a screen asks for dark, and always light on paper.
 * On a narrow screen every row of a table becomes a block in which each cell says what it is.
 */
export const reviewStyle = `
:root { --ground: #efece2; --sheet: #faf8f1; --line: #cfcbbb; --ink: #1d1f19; --soft: #57584b; --channel: #dce6dd;
  --edge: #55776a; --ribbon: #3d4638; --expected: #6f7565; --mark: #15160f; --left: #a3260f; color-scheme: light; }
@media screen and (prefers-color-scheme: dark) { :root { --ground: #12130f; --sheet: #1a1c17; --line: #3b3e35;
  --ink: #f5f1e4; --soft: #bdbaa9; --channel: #26352f; --edge: #86a597; --ribbon: #ead9a4; --expected: #b9ab83;
  --mark: #ffffff; --left: #ff9d7f; color-scheme: dark; } }
* { box-sizing: border-box; }
body { margin: 0 auto; padding: 1rem; max-width: 78rem; background: var(--ground); color: var(--ink);
  font: 16px/1.4 system-ui, "Segoe UI", Roboto, "Noto Sans", "DejaVu Sans", sans-serif; overflow-wrap: anywhere; }
h1, h2, p, ul, dl, dd, figure { margin: 0; padding: 0; }
h1, h2, .line { font-family: Charter, "Bitstream Charter", "Iowan Old Style", Cambria, Georgia, serif; line-height: 1.2; }
h1 { font-size: 1.6rem; }
h2 { font-size: 1.3rem; margin-bottom: 0.5rem; }
header { display: grid; gap: 0.6rem; }
.span, .words, small, figcaption small, caption { color: var(--soft); }
.line { font-size: 1.25rem; max-width: 70ch; }
.invented { border: 1px dashed var(--soft); padding: 0.2rem 0.6rem; width: fit-content; color: var(--soft); }
.figures { display: grid; grid-template-columns: repeat(auto-fit, minmax(9rem, 1fr)); gap: 0.5rem; }
.figures div { background: var(--sheet); border-top: 3px solid var(--edge); padding: 0.5rem 0.75rem; }
.figures dt { color: var(--soft); font-size: 0.9rem; }
.figures dd { font-size: 1.6rem; font-weight: 600; font-variant-numeric: tabular-nums; }
.figures dd.why { font-size: 0.95rem; font-weight: 400; }
section { margin-top: 1.6rem; border-top: 1px solid var(--line); padding-top: 0.8rem; display: grid; gap: 0.7rem; }
section h2 { margin: 0; }
.words { font-size: 0.9rem; max-width: 80ch; }
ul { list-style: none; display: grid; gap: 0.35rem; }
li { display: grid; grid-template-columns: minmax(0, 1fr); gap: 0 0.8rem; border-top: 1px solid var(--line); padding-top: 0.3rem; }
.task { grid-template-columns: 1.4rem minmax(0, 1fr); }
.task::before { content: ""; width: 0.95rem; height: 0.95rem; border: 2px solid var(--edge); margin-top: 0.2rem; grid-row: 1 / 3; }
.task span { font-weight: 600; }
.task small { grid-column: 2; }
small { font-size: 0.88rem; }
table { width: 100%; border-collapse: collapse; font-size: 0.9rem; font-variant-numeric: tabular-nums; background: var(--sheet); }
caption { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); white-space: nowrap; }
th, td { text-align: left; vertical-align: top; padding: 0.35rem 0.6rem; border-top: 1px solid var(--line); }
thead th { color: var(--soft); font-weight: 400; border-top: 0; }
tbody th { font-weight: 600; min-width: 8rem; }
thead th, td { overflow-wrap: break-word; }
.why { color: var(--soft); font-style: italic; }
.bad { color: var(--left); font-weight: 600; }
.plots { display: grid; grid-template-columns: repeat(auto-fill, minmax(min(100%, 21rem), 1fr)); gap: 0.8rem; }
figure { background: var(--sheet); padding: 0.5rem; break-inside: avoid; }
figcaption { display: flex; flex-wrap: wrap; gap: 0 0.6rem; font-size: 0.95rem; }
svg { display: block; width: 100%; height: auto; }
svg text { fill: var(--soft); font-size: 10px; }
.plot-band { fill: var(--channel); }
.plot-edge { fill: none; stroke: var(--edge); stroke-width: 1; }
.plot-grid { fill: none; stroke: var(--line); stroke-width: 0.7; }
.plot-ribbon { fill: var(--ribbon); stroke: var(--ribbon); stroke-width: 0.8; }
.plot-cone { fill: none; stroke: var(--expected); stroke-width: 0.9; stroke-dasharray: 3 2; }
.plot-line { fill: none; stroke: var(--ribbon); stroke-width: 1.6; }
.plot-test { fill: var(--mark); }
.plot-test-bar { fill: none; stroke: var(--mark); stroke-width: 1.2; }
.plot-bar { fill: var(--ribbon); }
.plot-limit { fill: none; stroke: var(--left); stroke-width: 1.4; stroke-dasharray: 5 3; }
@media screen and (max-width: 720px) {
  thead { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); }
  table, tbody, tr, th, td { display: block; }
  tr { border-top: 1px solid var(--line); padding: 0.4rem 0; }
  th, td { border: 0; padding: 0.1rem 0.6rem; }
  td { overflow-wrap: anywhere; display: grid; grid-template-columns: 8.5rem minmax(0, 1fr); gap: 0.5rem; }
  td::before { content: attr(data-of); color: var(--soft); font-weight: 400; font-style: normal; }
}
@page { size: A4; margin: 14mm; }
@media print {
  :root { --ground: #ffffff; --sheet: #ffffff; font-size: 12.5px; }
  body { padding: 0; max-width: none; font-size: 1rem; }
  h2 { break-after: avoid; }
  tr, li, figure { break-inside: avoid; }
  thead { display: table-header-group; }
  .plots { grid-template-columns: 1fr 1fr; }
  table { font-size: 0.85rem; }
  th, td { padding: 0.2rem 0.35rem; }
  .plot-band, .plot-ribbon, .plot-bar, .plot-test { print-color-adjust: exact; -webkit-print-color-adjust: exact; }
}
`;
