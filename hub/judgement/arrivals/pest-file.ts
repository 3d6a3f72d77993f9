import { readFileSync } from 'node:fs';
import { basename } from 'node:path';
import { pests as ownPests, type Pest } from '#rules/arrivals/pests.ts';
import { pestFileSchema, pestOf } from '../../model/entries/pest-schema.ts';
import { Refused } from '../../model/refusals/refused.ts';
import { checkedYaml } from './checked-yaml.ts';

export type Pests = {
  /** By id; the keeper's own stand in place of ours of the same id. */
  known: ReadonlyMap<string, Pest>;
  /** One line for each mistake: file, line, what was found and what is allowed. */
  problems: string[];
};

/** Our own pests and those of the keeper's file. A file with a mistake is left out as a whole and says so; ours stay. */
export function loadPests(path: string | undefined): Pests {
  const own = Object.values<Pest>(ownPests);
  const { pests, problems } = path === undefined ? { pests: [], problems: [] } : readPests(path);
  return { known: new Map([...own, ...pests].map((pest) => [pest.id, pest])), problems };
}

/** @throws Refused unknown_pest  with the ids that there are */
export function checkPest({ known }: Pests, id: string): void {
  if (known.has(id)) return;
  throw new Refused('unknown_pest', `there is no pest "${id}"; there is: ${[...known.keys()].join(', ')}`);
}

/** What is watched for; by the eye alone when the pest is no longer in the keeper's file. */
export function pestById({ known }: Pests, id: string): Pest {
  return known.get(id) ?? { ...ownPests.none_seen, label: `${id} (not in the file of pests any more)` };
}

function readPests(path: string): { pests: Pest[]; problems: string[] } {
  const file = basename(path);
  try {
    const checked = checkedYaml(readFileSync(path, 'utf8'), file, pestFileSchema);
    if ('problems' in checked) return { pests: [], problems: checked.problems };
    const ids = checked.value.pests.map(({ id }) => id);
    const problems = ids.flatMap((id, place) =>
      ids.indexOf(id) < place
        ? [`${checked.at(['pests', place, 'id'])}: found the id ${id} twice, need one of its own.`]
        : [],
    );
    return problems.length > 0 ? { pests: [], problems } : { pests: checked.value.pests.map(pestOf), problems };
  } catch (error) {
    return { pests: [], problems: [`${file}: it cannot be read: ${(error as Error).message}`] };
  }
}
