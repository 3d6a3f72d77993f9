import type { Command } from 'commander';
import { addressOf } from '../api/address.ts';
import type { AnswerOf, AskedOf, Route, SaidOf } from '../api/contract.ts';
import type { Problem } from '../api/problem.ts';
import { dataOf } from '../flow/calibration/json-data.ts';
import { notNumber } from '../model/refusals/number-words.ts';
import { Refused } from '../model/refusals/refused.ts';
import { askRunningHub, type HubPlace, tokenFlag } from './hub-connection.ts';
import { defaultConfigPath } from './read-config.ts';
import type { Terminal } from './terminal.ts';

export type HubOptions = { config: string; json?: boolean; tokenFile?: string };

/** Those and the flags of one verb. */
export type Flags = HubOptions & Record<string, string | undefined>;

/** Begins a verb of a group. */
export type HubVerb = (name: string, description: string) => Command;

/** The verbs of a group that ask the running hub, such as all of `brinekeep piece …`. */
export function hubVerbs(group: Command): HubVerb {
  return (name, description) => withHubOptions(group.command(name).description(description));
}

/** What every verb of the running hub takes. */
export function withHubOptions(command: Command): Command {
  return command
    .option('--config <file>', 'configuration of the hub', defaultConfigPath)
    .option(...tokenFlag)
    .option('--json', 'the answer as JSON');
}

/**
 * Asks the running hub, so that there is one writer and one set of checks.
 *
 * @throws Refused not_done when no hub answers or it refuses, with its words
 */
export async function askRoute<Name extends Route>(
  place: HubPlace,
  terminal: Terminal,
  route: Name,
  said: SaidOf<Name>,
  wordsOf = wordsOfProblem,
): Promise<AnswerOf<Name>> {
  const { method, path, body } = addressOf(route, said as AskedOf<Name>);
  const { status, text } = await askRunningHub(place, terminal, method, path, body);
  const answer = dataOf(text) ?? null;
  // Of an answer that is no problem of the hub, such as that of a proxy between, its status.
  if (status >= 400) throw new Refused('not_done', wordsOf({ title: `${status}`, detail: '', ...(answer as object) }));
  return answer as AnswerOf<Name>;
}

export type HubProblem = Pick<Problem, 'title' | 'detail' | 'doubt'>;

/** In one line for a person. */
export function wordsOfProblem({ title, detail }: Pick<HubProblem, 'title' | 'detail'>): string {
  // What says that there is no such thing names it; its title says nothing more.
  return title.startsWith('No such ') && detail !== '' ? detail : `${title}: ${detail}`;
}

/** Prints the answer as JSON when that was asked for, else in lines for a person. */
export function show<Answer>(
  options: HubOptions,
  terminal: Terminal,
  answer: Answer,
  lines: (answer: Answer) => readonly string[],
): void {
  if (options.json === true) terminal.print(JSON.stringify(answer, undefined, 2));
  else for (const line of lines(answer)) terminal.print(line);
}

/** A number of a flag. @throws Refused wrong_usage */
export function numberOf(text: string, name: string): number {
  const value = Number(text);
  if (text.trim() === '' || !Number.isFinite(value)) throw new Refused('wrong_usage', notNumber(name, text));
  return value;
}

/** The same for a flag that may be left out. */
export function numberIn(text: string | undefined, name: string): number | undefined {
  return text === undefined ? undefined : numberOf(text, name);
}

/** Leaves out what was not given: the hub's schema is strict. */
export function given(entry: Record<string, unknown>): Record<string, unknown> {
  return Object.fromEntries(Object.entries(entry).filter(([, value]) => value !== undefined));
}

/** For a flag that may be given several times. */
export const gather = (value: string, before: string[]): string[] => [...before, value];
