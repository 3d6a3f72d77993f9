import { createReadStream } from 'node:fs';
import type { Command } from 'commander';
import { defined } from '#rules/plain-data/defined.ts';
import type { LaboratoryView } from '../api/laboratory.ts';
import { Refused } from '../model/refusals/refused.ts';
import { askRoute, type HubOptions, numberIn, show, withHubOptions } from './ask-hub.ts';
import { refuseUnreadable } from './readable-file.ts';
import { refuseOneColumn, separatorOf } from './separator.ts';
import type { Terminal } from './terminal.ts';
import type { VerbAdapters } from './verb-adapters.ts';

type Flags = HubOptions & {
  element: string;
  value: string;
  unit: string;
  everyUnit?: string;
  separator?: string;
  salinity?: string;
};

const shown = (value: number): string => String(Number(value.toPrecision(4)));

function lineText({
  element,
  value_mg_l,
  is_below,
  reference_mg_l,
  ratio,
  from,
}: LaboratoryView['lines'][number]): string {
  const value = `${is_below ? 'below ' : ''}${shown(value_mg_l)} mg/L`;
  if (reference_mg_l === null || ratio === null) return `  ${element}: ${value}, no reference`;
  return `  ${element}: ${value}, ${Math.round(100 * ratio)} % of the sea’s ${shown(reference_mg_l)}${from === null ? '' : `: ${from}`}`;
}

/** `brinekeep laboratory`: a laboratory's table of elements beside reference seawater. */
export function addLaboratoryVerb(program: Command, adapters: VerbAdapters, terminal: Terminal): void {
  withHubOptions(program.command('laboratory'))
    .description("compare a laboratory's table of elements (CSV) with reference seawater of the tank's salinity")
    .argument('<system>')
    .argument('<file>', 'CSV with a header')
    .option('--element <column>', 'name of its element column', 'element')
    .option('--value <column>', 'name of its value column; `<0.02` means below that limit', 'value')
    .option('--unit <column>', 'name of its unit column', 'unit')
    .option('--every-unit <unit>', 'unit of all rows, where it has no unit column')
    .option('--separator <sign>', 'character between cells, such as ; or tab', separatorOf, ',')
    .option('--salinity <number>', "as the laboratory measured it; the tank's when left out")
    .action(async (system: string, file: string, o: Flags) => {
      refuseUnreadable(file);
      const table = await adapters.tables.read(createReadStream(file), o.separator).catch((error: Error) => {
        throw new Refused('wrong_usage', `${file}: ${error.message}`);
      });
      refuseOneColumn(file, table.columns);
      const needed = [o.element, o.value, ...(o.everyUnit === undefined ? [o.unit] : [])];
      const missing = needed.filter((column) => !table.columns.includes(column));
      if (missing.length > 0)
        throw new Refused(
          'wrong_usage',
          `${file}: no column ${missing.join(', ')}; it has ${table.columns.join(', ')}. Name yours with --element, --value, --unit`,
        );
      const rows: { element: string; value: string; unit: string }[] = [];
      for await (const { cells } of table.rows) {
        const [element = '', value = ''] = [cells[o.element]?.trim(), cells[o.value]?.trim()];
        if (element !== '' && value !== '')
          rows.push({ element, value, unit: o.everyUnit ?? cells[o.unit]?.trim() ?? '' });
      }
      const salinity = numberIn(o.salinity, '--salinity');
      const body = { rows, ...defined({ salinity }) };
      const answer = await askRoute(o, terminal, 'POST /api/laboratory/:system', { params: { system }, body });
      show(o, terminal, answer, ({ text, lines, not_understood }) => [
        text,
        ...lines.map(lineText),
        ...not_understood.map((each) => `! not understood: ${each}`),
      ]);
    });
}
