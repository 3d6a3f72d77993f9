import { defined } from '#rules/plain-data/defined.ts';
import { hiddenPlaces } from '../refusals/hidden-characters.ts';
import { type ConfigProblem, type Finding, formatProblem, pathText } from './config-problem.ts';
import { crossChecks } from './cross-checks.ts';
import type { Config } from './schema.ts';
import { findingsOfIssues, parseBySchema } from './schema-problems.ts';
import type { Environment, ReadFile } from './secrets.ts';
import { soundParts } from './sound-parts.ts';
import { type Place, readYaml } from './yaml-source.ts';

export type LoadedConfig = { ok: true; config: Config; warnings: string[] } | { ok: false; problems: ConfigProblem[] };

/** More than a person will mend in one go; the last line says how many are left out. */
const mostProblems = 200;

/**
 * Reads a configuration and says all of its mistakes at once, in the order of the file. Never throws.
 *
 * @param text      the YAML
 * @param fileName  as it should appear in messages
 * @param env       the environment in which secrets are looked up; read, never shown
 * @param readFile  gives the text of a secret or certificate file, or throws
 */
export function loadConfig(text: string, fileName: string, env: Environment, readFile: ReadFile): LoadedConfig {
  const source = readYaml(text);
  const problems = source.mistakes.map(({ place, finding }) => problemAt(fileName, place, finding));
  const atItsPlace = (finding: Finding) =>
    problemAt(fileName, source.placeOf(finding.path, finding.isAboutKey), finding);
  if (!source.isReadable) return { ok: false, problems: inOrder(problems, fileName) };
  problems.push(
    ...hiddenPlaces(source.value).map(({ path, isInName, character }) =>
      problemAt(fileName, source.placeOf(path, isInName), { path, ...hiddenFinding(character) }),
    ),
  );

  const parsed = parseBySchema(source.value);
  if (!parsed.success) {
    const { issues } = parsed.error;
    const cross = crossChecks(soundParts(source.value, issues), env, readFile);
    const schemaFindings = findingsOfIssues(issues, source.value);
    problems.push(...withoutEchoes(schemaFindings, cross.problems).map(atItsPlace));
    return { ok: false, problems: inOrder(problems, fileName) };
  }
  const cross = crossChecks(parsed.data, env, readFile);
  problems.push(...cross.problems.map(atItsPlace));
  if (problems.length > 0) return { ok: false, problems: inOrder(problems, fileName) };
  return { ok: true, config: parsed.data, warnings: cross.warnings.map((warning) => atItsPlace(warning).text) };
}

function hiddenFinding(character: string): Pick<Finding, 'found' | 'need' | 'hint'> {
  return {
    found: `${character}, a character that nobody sees and a terminal obeys`,
    need: 'text without control characters and marks of direction',
    hint: 'Delete the line and type it by hand; copied text may bring such characters along.',
  };
}

function problemAt(fileName: string, place: Place, finding: Finding): ConfigProblem {
  const { found, need, hint } = finding;
  const problem = { ...place, path: pathText(finding.path), found, need, ...defined({ hint }) };
  return { ...problem, text: formatProblem(fileName, problem) };
}

/** What the schema refused is told once: a check across keys saw only the hole it left. */
function withoutEchoes(schemaFindings: readonly Finding[], crossFindings: readonly Finding[]): Finding[] {
  const told = new Set(schemaFindings.map(({ path }) => JSON.stringify(path)));
  return [...schemaFindings, ...crossFindings.filter(({ path }) => !told.has(JSON.stringify(path)))];
}

function inOrder(problems: ConfigProblem[], fileName: string): ConfigProblem[] {
  const sorted = problems.toSorted((left, right) => left.line - right.line || left.column - right.column);
  if (sorted.length <= mostProblems) return sorted;
  const { line, column } = sorted[mostProblems]!;
  const rest = { line, column, path: '', found: `${sorted.length - mostProblems} more mistakes`, need: 'none' };
  return [...sorted.slice(0, mostProblems), { ...rest, text: formatProblem(fileName, rest) }];
}
