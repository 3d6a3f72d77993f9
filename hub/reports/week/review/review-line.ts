import type { ReviewFigures } from '../../../model/answers/review-schema.ts';
import { numberOf } from './figure.ts';
import { amountWords, countWords, percentWords, signedWords } from './figure-words.ts';

type LineFacts = Pick<ReviewFigures, 'week' | 'bandsKept' | 'bands' | 'demand' | 'alarms' | 'toDo'>;

/** A week that was heard for less is said to be: bands that nobody watched were not kept. */
const wholeShare = 0.95;

/**
 * The week in one sentence, which a phone is sent as far as it shows it: how long the bands were kept, what the corals use, how many alarms, what is to do first.
 * What is not known is left out, and said where it is all that could be said.
 */
export function reviewLine(facts: LineFacts): string {
  const { week, bandsKept, demand, alarms, toDo } = facts;
  const kept = numberOf(bandsKept);
  const raised = numberOf(alarms.raised);
  const parts = [
    kept === undefined
      ? 'no band could be judged'
      : `bands kept ${percentWords(kept, kept >= 0.99 ? 1 : 0)} of the ${heardWords(facts.bands)}`,
    ...demandPart(demand),
    ...(raised === undefined ? [] : [countWords(raised, 'alarm')]),
    toDoPart(toDo),
  ];
  return `Week ${Number(week.slice(-2))}: ${parts.join('; ')}`;
}

/** The time of which the share speaks: all of it, or what was heard. */
function heardWords(bands: ReviewFigures['bands']): string {
  const heard = bands
    .filter(({ shareInBand }) => numberOf(shareInBand) !== undefined)
    .flatMap(({ shareHeard }) => numberOf(shareHeard) ?? []);
  const mean = heard.reduce((sum, share) => sum + share, 0) / Math.max(1, heard.length);
  return mean >= wholeShare ? 'time' : `time with a signal (${percentWords(mean, 0)} of the week)`;
}

/** Of the system in which it changed the most; its name is said where there are several. */
function demandPart(demand: ReviewFigures['demand']): string[] {
  const known = demand.flatMap(({ metric, systemName, unit, perDay, change }) => {
    const value = numberOf(perDay);
    return metric !== 'alkalinity' || value === undefined
      ? []
      : [{ systemName, unit, value, change: numberOf(change) }];
  });
  const [most] = [...known].sort((one, other) => Math.abs(other.change ?? 0) - Math.abs(one.change ?? 0));
  if (most === undefined) return [];
  const where = known.length > 1 ? ` in ${most.systemName}` : '';
  const signed = most.change === undefined ? undefined : signedWords(most.change, 1);
  const change = signed === undefined ? '' : ` (${signed === '0.0' ? 'unchanged' : signed})`;
  return [`alkalinity demand${where} ${amountWords(most.value, most.unit, 1)} a day${change}`];
}

function toDoPart(toDo: ReviewFigures['toDo']): string {
  const [first, ...more] = toDo;
  if (first === undefined) return 'nothing to do';
  const systems = new Set(toDo.map(({ system }) => system));
  const where = systems.size > 1 ? ` in ${first.systemName}` : '';
  return `to do: ${first.short}${where}${more.length === 0 ? '' : ` and ${more.length} more`}`;
}
