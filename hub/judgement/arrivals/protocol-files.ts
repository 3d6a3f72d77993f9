import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { ownProtocols } from '#rules/arrivals/own-protocols.ts';
import { type Protocol, protocolFaults } from '#rules/arrivals/protocol.ts';
import { protocolOf, protocolSchema } from '../../model/entries/protocol-schema.ts';
import { checkedYaml } from './checked-yaml.ts';

export type Protocols = {
  /** The keeper's own stand in place of ours of the same id. */
  known: Protocol[];
  /** One line for each mistake: file, line, what was found and what is allowed. */
  problems: string[];
};

/** More than a keeper writes; a folder that was named by mistake is not read to its end. */
const mostFiles = 100;

/** @returns the protocol, or every mistake of its file */
export function protocolFromYaml(text: string, fileName: string): { protocol?: Protocol; problems: string[] } {
  const checked = checkedYaml(text, fileName, protocolSchema);
  if ('problems' in checked) return checked;
  const protocol = protocolOf(checked.value);
  const problems = protocolFaults(protocol).map(
    ({ step, text: words }) => `${checked.at(step === undefined ? [] : ['steps', step])}: ${words}`,
  );
  return problems.length === 0 ? { protocol, problems } : { problems };
}

/**
 * Our own protocols and the YAML files of the keeper's folder. A file with a mistake is left out and says so; the others and
 * ours stay.
 */
export function loadProtocols(dir: string | undefined): Protocols {
  const byId = new Map(ownProtocols.map((protocol) => [protocol.id, protocol]));
  const problems: string[] = [];
  const filesOfId = new Map<string, string>();
  for (const file of filesIn(dir, problems)) {
    const read = readProtocol(join(dir ?? '', file), file);
    problems.push(...read.problems);
    if (read.protocol === undefined) continue;
    const { id } = read.protocol;
    const other = filesOfId.get(id);
    if (other !== undefined) problems.push(`${file}: found the id ${id} as in ${other}, need one of its own.`);
    else byId.set(id, read.protocol);
    filesOfId.set(id, other ?? file);
  }
  return { known: [...byId.values()], problems };
}

function filesIn(dir: string | undefined, problems: string[]): string[] {
  if (dir === undefined) return [];
  try {
    const files = readdirSync(dir).filter((file) => /\.ya?ml$/.test(file));
    if (files.length > mostFiles) problems.push(`${dir}: found ${files.length} files, need at most ${mostFiles}.`);
    return files.sort().slice(0, mostFiles);
  } catch (error) {
    problems.push(`${dir}: the folder of protocols cannot be read: ${(error as Error).message}`);
    return [];
  }
}

function readProtocol(path: string, file: string): ReturnType<typeof protocolFromYaml> {
  try {
    return protocolFromYaml(readFileSync(path, 'utf8'), file);
  } catch (error) {
    return { problems: [`${file}: it cannot be read: ${(error as Error).message}`] };
  }
}
