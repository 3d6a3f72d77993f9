import { code, table } from './schema-words.ts';

/** The page about the figures at /metrics, from the families that a running hub names. @param text  OpenMetrics */
export function metricsReference(text: string): string {
  const types = new Map(linesOf(text, 'TYPE'));
  const families = linesOf(text, 'HELP').map(([name, help]) => ({ name, help, type: types.get(name) ?? 'unknown' }));
  return [
    '# Figures at /metrics',
    '',
    'Written by `npm run docs` from what a running hub answers: OpenMetrics text 1.0, scope `read`. A counter ends with `_total` there.',
    'Labels that come and go (edges, systems, probes) are in the answer itself.',
    '',
    ...table(
      ['family', 'type', 'what'],
      families.map(({ name, help, type }) => [code(name), type, help]),
    ),
    '',
  ].join('\n');
}

function linesOf(text: string, kind: 'HELP' | 'TYPE'): [string, string][] {
  return [...text.matchAll(new RegExp(`^# ${kind} (\\S+) (.+)$`, 'gm'))].map(([, name = '', rest = '']) => [
    name,
    rest,
  ]);
}
