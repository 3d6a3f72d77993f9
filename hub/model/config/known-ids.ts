import { type ConfigPath, type Finding, showFound } from './config-problem.ts';
import { nearestWord } from './nearest-word.ts';

/** What a check across keys gives: a problem keeps the hub from starting, a warning does not. */
export type CrossFindings = { problems: Finding[]; warnings: Finding[] };

/** An entry of a list that others name by its id. */
export type WithId = { id?: string | undefined } | undefined;

/** A finding when `id` is none of the known ones. Silent while an entry's own id is unreadable: it may be the one meant. */
export function unknownId(
  id: string | undefined,
  entries: readonly WithId[] | undefined,
  path: ConfigPath,
  noun: string,
): Finding[] {
  const known = (entries ?? []).map((entry) => entry?.id);
  if (id === undefined || known.includes(id) || known.includes(undefined)) return [];
  const ids = known.filter((knownId) => knownId !== undefined);
  const nearest = nearestWord(id, ids);
  return [
    {
      path,
      found: showFound(id),
      need: ids.length === 0 ? `the id of a ${noun}, and there is none` : `the id of a ${noun}: ${listed(ids)}`,
      ...(nearest === undefined ? {} : { hint: `Did you mean ${nearest}?` }),
    },
  ];
}

/** At most a dozen, so that a message stays one line in a room of hundreds. */
function listed(ids: readonly string[]): string {
  return ids.length <= 12 ? ids.join(', ') : `${ids.slice(0, 12).join(', ')} and ${ids.length - 12} more`;
}
