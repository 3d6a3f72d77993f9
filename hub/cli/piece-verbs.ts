import { randomUUID } from 'node:crypto';
import type { Command } from 'commander';
import { illnessSigns } from '#rules/arrivals/illness.ts';
import type { PieceAnswer } from '../api/pieces.ts';
import { lossCauses } from '../model/journal/reasons.ts';
import { Refused } from '../model/refusals/refused.ts';
import { askRoute, type Flags, given, hubVerbs, numberIn, show } from './ask-hub.ts';
import type { Terminal } from './terminal.ts';

const lines = ({ id, system, kind, place, ill, lost, events }: PieceAnswer) => [
  `${id} ${kind}, ${system}${place === null ? '' : `, ${place}`}${lost === null ? '' : `, lost ${lost.time.slice(0, 10)}: ${lost.cause.replaceAll('_', ' ')}`}`,
  ...(ill === null ? [] : [`  not well since ${ill.since.slice(0, 10)}: ${ill.what}. First: ${ill.first}.`]),
  ...events.map(({ time, event }) => `  ${time.slice(0, 10)} ${event}`),
];

/** `brinekeep piece …`: the register of frags and colonies, at the running hub. */
export function addPieceVerbs(program: Command, terminal: Terminal): void {
  const piece = program.command('piece').description('coral pieces: add one, log events, losses by cause');
  const verb = hubVerbs(piece);

  verb('add', 'add a piece')
    .requiredOption('--system <id>')
    .requiredOption('--kind <text>', 'what it is')
    .option('--source <text>')
    .option('--arrival <id>')
    .option('--place <text>')
    .option('--height <cm>', 'above the sand bed, for the light that it gets')
    .option('--note <text>')
    .action(async (o: Flags) => {
      const body = given({
        key: randomUUID(),
        system: o['system'],
        kind: o['kind'],
        source: o['source'],
        arrival: o['arrival'],
        place: o['place'],
        note: o['note'],
        height_cm: numberIn(o['height'], '--height'),
      });
      show(o, terminal, await askRoute(o, terminal, 'POST /api/pieces', { body }), lines);
    });

  verb('list', 'all pieces')
    .option('--here', 'without lost pieces')
    .action(async (o: Flags & { here?: boolean }) => {
      const answer = await askRoute(o, terminal, 'GET /api/pieces', { query: { here: `${o.here === true}` } });
      show(o, terminal, answer, (all) => all.flatMap((each) => lines(each).slice(0, 1)));
    });

  verb('tell', 'log an event of a piece')
    .argument('<id>')
    .argument('<event>', 'moved, dipped, fragged, ill, well, lost, growth')
    .option('--sign <sign>', `ill: ${illnessSigns.join(', ')}`)
    .option('--place <text>', 'moved: where to')
    .option('--height <cm>', 'moved: above the sand bed')
    .option('--frags <count>', 'fragged: how many were cut')
    .option('--cause <cause>', `lost: ${lossCauses.join(', ')}`)
    .option('--longest <cm>', 'growth: its longest side')
    .option('--note <text>')
    .option('--time <iso>')
    .action(async (id: string, event: string, o: Flags) => {
      const body = given({
        event,
        sign: o['sign'],
        place: o['place'],
        frags: numberIn(o['frags'], '--frags'),
        cause: o['cause'],
        height_cm: numberIn(o['height'], '--height'),
        longest_cm: numberIn(o['longest'], '--longest'),
        note: o['note'],
        time: o['time'],
      });
      const asked = { params: { id }, body };
      show(o, terminal, await askRoute(o, terminal, 'POST /api/pieces/:id/events', asked), (told) =>
        [told.piece, ...told.frags].flatMap(lines),
      );
    });

  verb('take-back', 'take back the last event of this kind; it stays on record')
    .argument('<id>')
    .argument('<event>', 'moved, dipped, fragged, ill, well, lost, growth')
    .action(async (id: string, event: string, o: Flags) => {
      const found = await askRoute(o, terminal, 'GET /api/pieces/:id', { params: { id } });
      const last = found.events.findLast((each) => each.event === event);
      if (last === undefined || event === 'added') throw new Refused('not_done', `${id} has no event "${event}"`);
      const by = { by: 'command line' };
      await askRoute(o, terminal, 'POST /api/entries/:id/withdraw', { params: { id: last.entry }, body: by });
      show(o, terminal, await askRoute(o, terminal, 'GET /api/pieces/:id', { params: { id } }), lines);
    });

  verb('losses', 'pieces lost in a span, by cause')
    .requiredOption('--from <iso>')
    .requiredOption('--to <iso>')
    .action(async (o: Flags) => {
      const query = { from: o['from'] ?? '', to: o['to'] ?? '' };
      show(o, terminal, await askRoute(o, terminal, 'GET /api/pieces/losses', { query }), ({ lost, by_cause }) => [
        `${lost} lost`,
        ...Object.entries(by_cause).map(([cause, count]) => `  ${cause.replaceAll('_', ' ')}: ${count}`),
      ]);
    });
}
