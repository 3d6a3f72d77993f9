import type * as z from 'zod';
import type { configSchema } from './schema.ts';

type Partly<T> = T extends readonly (infer Item)[]
  ? (Partly<Item> | undefined)[]
  : T extends object
    ? { [Key in keyof T]?: Partly<T[Key]> | undefined }
    : T;

/**
 * A configuration of which any part may be absent, but whatever is there has its right type. The checks across keys
 * work on it, so that one wrong number does not hide the mistakes in the rest of the file.
 */
export type SoundParts = Partly<z.infer<typeof configSchema>>;

/**
 * A copy without the parts that the schema refuses: their keys stay, with the value undefined, and so do list indices.
 *
 * @param issues  all issues of the schema for this value: they are the reason that the result has the claimed type
 */
export function soundParts(value: unknown, issues: readonly z.core.$ZodIssue[]): SoundParts {
  // Aliases make one object appear in several places; JSON parts them, so that a cut in one leaves the others.
  const copy: unknown = JSON.parse(JSON.stringify(value ?? {}));
  for (const issue of issues) {
    if (issue.path.length === 0 && issue.code !== 'unrecognized_keys') return {};
    if (issue.code === 'unrecognized_keys') for (const key of issue.keys) cut(copy, [...issue.path, key]);
    else cut(copy, issue.path);
  }
  return copy as SoundParts;
}

function cut(value: unknown, path: readonly PropertyKey[]): void {
  let part = value as Record<PropertyKey, unknown> | null | undefined;
  for (const step of path.slice(0, -1)) part = part?.[step] as Record<PropertyKey, unknown> | null | undefined;
  const last = path.at(-1);
  if (part === null || part === undefined || typeof part !== 'object' || last === undefined) return;
  if (!Object.hasOwn(part, last)) return;
  part[last] = undefined;
}
