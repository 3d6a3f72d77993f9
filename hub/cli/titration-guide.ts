import { randomUUID } from 'node:crypto';
import { createInterface } from 'node:readline';
import { defined } from '#rules/plain-data/defined.ts';
import type { TitrationAnswer } from '../api/titrations.ts';
import { notNumber } from '../model/refusals/number-words.ts';
import { Refused } from '../model/refusals/refused.ts';
import { askRoute, type HubOptions } from './ask-hub.ts';
import type { Terminal } from './terminal.ts';

const lookEveryMs = 1000;
/** A line at least so often while it waits, so that a person sees it live. */
const sayAgainMs = 15_000;

export const guideKeys =
  'Enter: that portion is in. A number: this much went in instead. u: undo. g: go on without waiting for CO2. f: finish and save. q: leave; the run goes on.';

/** What a running titration says, in a line or two for a person. */
export function titrationLines(view: TitrationAnswer): string[] {
  const { say, probe_now, answer, gran_dkh, no_answer, warnings, added, acid_unit } = view;
  const ph = probe_now.ph === null ? '' : ` pH ${probe_now.ph.toFixed(3)}`;
  const gran = gran_dkh === null ? '' : `, Gran ${gran_dkh.toFixed(2)}`;
  const result =
    answer === null
      ? []
      : [
          `  so far ${answer.alkalinity_dkh.toFixed(2)} dKH, 95 % interval ${answer.low95_dkh.toFixed(2)} to ` +
            `${answer.high95_dkh.toFixed(2)}, from ${answer.points_used} points${gran}`,
        ];
  return [
    say,
    `  ${added} ${acid_unit} in,${ph} ${probe_now.state.replaceAll('_', ' ')}`,
    ...result,
    ...(no_answer === null ? [] : [`  no result yet: ${no_answer}`]),
    ...warnings.map((warning) => `! ${warning.say}`),
  ];
}

/**
 * Follows a titration at a terminal: says each new thing to do, takes what the person types, and ends with the run or the input.
 *
 * @throws Refused  as the hub refuses; what was typed wrong is told and asked again
 */
export async function guideAtTerminal(o: HubOptions, terminal: Terminal, id: string): Promise<void> {
  const params = { id };
  const typed: string[] = [];
  let isInputOver = false;
  const lines = createInterface({ input: terminal.input });
  lines.on('line', (line) => typed.push(line.trim().toLowerCase()));
  lines.on('close', () => {
    isInputOver = true;
  });
  let told = '';
  let toldMs = 0;
  try {
    for (;;) {
      const view = await askRoute(o, terminal, 'GET /api/titrations/:id', { params });
      const line = typed.shift();
      if (line !== undefined) {
        if (line === 'q') return;
        if (await obey(line, view)) return;
        told = '';
        continue;
      }
      const now = JSON.stringify([view.deed.do === 'wait' ? view.deed.for : view.deed, view.warnings, view.portions]);
      if (now !== told || Date.now() - toldMs > sayAgainMs) {
        for (const each of titrationLines(view)) terminal.print(each);
        [told, toldMs] = [now, Date.now()];
      }
      if (isInputOver) return;
      await new Promise((resolve) => setTimeout(resolve, lookEveryMs));
    }
  } finally {
    lines.close();
  }

  /** @returns true when the run is over */
  async function obey(line: string, { deed }: TitrationAnswer): Promise<boolean> {
    try {
      if (line === 'f') {
        await finishTitration(o, terminal, id, undefined);
        return true;
      }
      if (line === 'u') await askRoute(o, terminal, 'POST /api/titrations/:id/undo', { params });
      else if (line === 'g') await askRoute(o, terminal, 'POST /api/titrations/:id/go-on', { params });
      else {
        const amount = line === '' ? (deed.do === 'add' ? deed.amount : undefined) : Number(line.replace(',', '.'));
        if (amount === undefined) terminal.print('Nothing to add just now.');
        else if (!Number.isFinite(amount)) terminal.print(notNumber('amount', line));
        else {
          const body = { amount, key: randomUUID() };
          await askRoute(o, terminal, 'POST /api/titrations/:id/acid', { params, body });
        }
      }
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      terminal.print(error.message);
    }
    return false;
  }
}

export async function finishTitration(
  o: HubOptions,
  terminal: Terminal,
  id: string,
  by: string | undefined,
): Promise<void> {
  const body = defined({ by });
  const done = await askRoute(o, terminal, 'POST /api/titrations/:id/finish', { params: { id }, body });
  if (o.json === true) terminal.print(JSON.stringify(done, undefined, 2));
  else terminal.print(`${done.saved} ± ${done.half_width95_dkh.toFixed(2)} (95 %), from ${done.points_used} points`);
}
