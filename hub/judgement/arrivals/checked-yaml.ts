import type * as z from 'zod';
import { pathText, showFound } from '../../model/config/config-problem.ts';
import { readYaml } from '../../model/config/yaml-source.ts';

type Path = readonly (string | number)[];

/** What a keeper's file holds, and where in it a path stands; or every mistake: file, line, what was found and what is allowed. */
export type CheckedYaml<Value> = { value: Value; at(path: Path): string } | { problems: string[] };

/** Reads a file that a keeper wrote by its schema. */
export function checkedYaml<Schema extends z.ZodType>(
  text: string,
  fileName: string,
  schema: Schema,
): CheckedYaml<z.output<Schema>> {
  const source = readYaml(text);
  const at = (path: Path) =>
    `${fileName}:${source.placeOf(path, false).line}${path.length === 0 ? '' : ` ${pathText(path)}`}`;
  if (source.mistakes.length > 0) {
    const problems = source.mistakes.map(
      ({ place, finding }) => `${fileName}:${place.line}: found ${finding.found}, need ${finding.need}.`,
    );
    return { problems };
  }
  const parsed = schema.safeParse(source.value);
  if (parsed.success) return { value: parsed.data, at };
  const problems = parsed.error.issues.map((issue) => {
    const path = issue.path.map((step) => (typeof step === 'number' ? step : String(step)));
    return `${at(path)}: found ${showFound(valueAt(source.value, path))}, need another: ${issue.message}.`;
  });
  return { problems };
}

function valueAt(value: unknown, path: Path): unknown {
  return path.reduce<unknown>(
    (inside, step) => (inside as Record<string | number, unknown> | undefined)?.[step],
    value,
  );
}
