import { arrivalDeeds, runDeed } from './arrival-deeds.ts';
import type { Deed } from './deed.ts';
import type { NowFacts } from './facts.ts';
import { alarmDeed, batchDeed, doseDeed, illPieceDeed, lotDeed, testDeeds } from './room-deeds.ts';

export type NowList = {
  /** The most urgent first. */
  deeds: Deed[];
  /** One true sentence when there is nothing to do; absent otherwise. */
  calm?: string;
};

/**
 * What a person should do now or today, over all tanks: the one list that the page, the phone and the daily line show.
 *
 * Each alarm that is neither silenced nor known from its cause has exactly one line, and so has each running timer.
 *
 * @param facts  times in UTC ms; the day of the site from `dayStartMs` to `dayEndsMs`
 * @source the order is common practice, no published source
 */
export function nowList(facts: NowFacts): NowList {
  const found = [
    ...facts.alarms.flatMap((alarm) => alarmDeed(alarm) ?? []),
    ...facts.runs.map((run) => runDeed(run, facts.nowMs)),
    ...facts.arrivals.flatMap((arrival) => arrivalDeeds(arrival, facts)),
    ...facts.pieces.map(illPieceDeed),
    ...facts.doses.map(doseDeed),
    ...testDeeds(facts),
    ...facts.lots.map(lotDeed),
    ...facts.batches.map(batchDeed),
  ];
  const tankPlace = new Map(facts.tanks.map(({ id }, place) => [id, place]));
  const placeOf = ({ tank }: Deed) => tankPlace.get(tank) ?? -1;
  const deeds = found
    .sort((one, other) => one.rank - other.rank || one.dueMs - other.dueMs || placeOf(one) - placeOf(other))
    .map(({ rank: _rank, dueMs: _dueMs, ...deed }): Deed => deed);
  return deeds.length > 0 ? { deeds } : { deeds, calm: calmSentence(facts) };
}

/** Says no more than is known: a room of silent probes is not a calm one. */
function calmSentence({ outside, unheardProbes, probes, tanks, alarms }: NowFacts): string {
  const [left] = outside;
  if (left !== undefined) {
    const tank = tanks.find(({ id }) => id === left.system)?.name ?? left.system;
    return `No alarm yet, but in ${tank} ${left.label} is outside its band.`;
  }
  if (unheardProbes > 0)
    return `Nothing is due, but ${unheardProbes} of ${probes} ${probes === 1 ? 'probe is' : 'probes are'} silent.`;
  const silenced = alarms.filter(({ isStanding }) => isStanding).length;
  if (silenced > 0)
    return `Nothing is due; ${silenced === 1 ? '1 alarm is' : `${silenced} alarms are`} silenced meanwhile.`;
  return 'Nothing to do now.';
}

/** Most lines of an answer on a phone; the rest is a number. */
const mostLines = 5;
const mostCharacters = 120;

/**
 * The list in a few lines for a phone.
 *
 * @param title  how the answer begins, such as `Today`
 * @returns lines without line ends, each at most 120 characters; the first counts
 */
export function nowLines({ deeds, calm }: NowList, tanks: NowFacts['tanks'], nowMs: number, title: string): string[] {
  if (calm !== undefined) return [cut(`${title}: ${calm}`)];
  const head = `${title}: ${deeds.length} to do.`;
  const shown = deeds.slice(0, mostLines).map((deed, place) => {
    const tank = tanks.find(({ id }) => id === deed.tank)?.name;
    const left = deed.clock === undefined ? '' : ` (${clockWords(deed.clock.endsMs - nowMs)})`;
    return cut(
      `${place + 1}. ${tank === undefined ? '' : `${tank}: `}${deed.what}${deed.beside === undefined ? '' : `, ${deed.beside}`}${left}`,
    );
  });
  const rest = deeds.length - shown.length;
  return [head, ...shown, ...(rest > 0 ? [`and ${rest} more`] : [])];
}

function clockWords(leftMs: number): string {
  const minutes = Math.ceil(Math.abs(leftMs) / 60_000);
  return leftMs > 0 ? `${minutes} min left` : `${minutes} min over`;
}

function cut(text: string): string {
  const characters = [...text];
  return characters.length <= mostCharacters ? text : `${characters.slice(0, mostCharacters - 1).join('')}…`;
}
