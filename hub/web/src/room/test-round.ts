import { recall, remember } from '../kit/remembered.ts';
import { type Choice, tested } from './entry-kinds.ts';

/** What most keepers test in one sitting, until the device has learned the order of this one. */
const firstRound = ['alkalinity', 'calcium', 'magnesium', 'nitrate', 'phosphate'];

function usualRound(system: string): string[] {
  const learned = recall(`round.${system}`)?.split(' ') ?? [];
  const known = learned.filter((id) => tested.some((each) => each.id === id));
  return known.length > 0 ? known : firstRound;
}

/** What this keeper tests after this, in this system; undefined after the last. */
export function nextOfRound(system: string, analyte: string): Choice | undefined {
  const round = usualRound(system);
  const at = round.indexOf(analyte);
  return at < 0 ? undefined : tested.find(({ id }) => id === round[at + 1]);
}

/** Two tests were made one after the other: that is the keeper's order from now on. */
export function learnOrder(system: string, before: string, after: string): void {
  if (before === after) return;
  const others = usualRound(system).filter((id) => id !== after);
  const at = others.indexOf(before);
  const round = at < 0 ? [...others, before, after] : others.toSpliced(at + 1, 0, after);
  remember(`round.${system}`, round.join(' '));
}
