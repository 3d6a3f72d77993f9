import type { ChecklistRun } from '#rules/arrivals/checklist.ts';
import { defined } from '#rules/plain-data/defined.ts';
import type { ArrivalEntry, PrepareEntry, RunStart } from '../../model/entries/arrival-schemas.ts';
import { Refused } from '../../model/refusals/refused.ts';
import type { Pieces } from '../pieces/pieces.ts';
import type { Batches } from '../water/batches.ts';
import type { Arrivals } from './arrivals.ts';
import { type Arrival, againMark } from './arrivals-state.ts';
import { usualBathL } from './bath-of-run.ts';
import type { Prepared } from './prepare-arrival.ts';
import type { Runs } from './runs.ts';

/** More are registered by the button or the command line: each is an entry of its own. */
const mostRegisteredAtOnce = 60;

/** The day of an arrival as one way: what was said at one step of it is known at the next. */
export type ArrivalDay = {
  plan(entry: ArrivalEntry, nowMs: number): Arrival;
  /** They are here: their pieces come into the register. */
  arrived(id: string, time: string | undefined, nowMs: number): Arrival;
  /** What to have ready, kept with the arrival when it is for one. @throws Refused not_known  a size is missing */
  prepare(entry: PrepareEntry, nowMs: number): Prepared;
  /** Starts a checklist with the volumes, the batch and the pieces of the arrival in place of what was not given. */
  start(id: string, entry: RunStart, nowMs: number): ChecklistRun;
};

export type ArrivalDayParts = {
  arrivals: Arrivals;
  runs: Pick<Runs, 'start'>;
  pieces: Pieces;
  batches: Pick<Batches, 'all'>;
  reckon(entry: PrepareEntry, nowMs: number): Prepared;
};

export function createArrivalDay({ arrivals, runs, pieces, batches, reckon }: ArrivalDayParts): ArrivalDay {
  function registered(arrival: Arrival, nowMs: number): Arrival {
    const total = arrival.pieces.reduce((sum, { count }) => sum + count, 0);
    if (arrival.state !== 'arrived' || total > mostRegisteredAtOnce) return arrival;
    for (const { kind, count } of arrival.pieces)
      for (let place = 1; place <= count; place += 1) {
        const source = defined({ source: arrival.source });
        const time = new Date(arrival.arrivedMs ?? nowMs).toISOString();
        // The same piece of the same arrival is one piece, however often it is said.
        const key = `${arrival.id}-${kind.slice(0, 60)}-${place}${againMark(arrival)}`;
        pieces.add({ system: arrival.system, kind, arrival: arrival.id, time, ...source, key }, nowMs);
      }
    return arrival;
  }

  return {
    plan: (entry, nowMs) => registered(arrivals.plan(entry, nowMs), nowMs),
    arrived: (id, time, nowMs) => registered(arrivals.arrived(id, time, nowMs), nowMs),
    prepare(entry, nowMs) {
      if (entry.arrival === undefined) return reckon(entry, nowMs);
      const arrival = arrivals.find(entry.arrival);
      const because = entry.tank_share === undefined ? arrival.tankOnlyBecause : undefined;
      const found = reckon(
        {
          ...entry,
          pieces: entry.pieces.length > 0 ? entry.pieces : sizesOf(arrival),
          ...(because === undefined ? {} : { tank_share: 1 }),
        },
        nowMs,
      );
      const why = because === undefined ? [] : [`Bath from the tank alone, no bag water: ${because}`];
      const prepared = { ...found, warnings: [...why, ...found.warnings] };
      const { baths, bathL, tankShare, rinseL, freshL, salt_g, salinity } = prepared;
      arrivals.keepWater(arrival.id, {
        baths,
        bathL,
        tankShare,
        rinseL,
        freshL,
        salt_g,
        salinity,
        ...defined({ salt: entry.salt, gramsPerLitreAt35: entry.grams_per_litre_at_35 }),
      });
      return prepared;
    },
    start(id, entry, nowMs) {
      const { water, tankOnlyBecause } = arrivals.find(id);
      const share = tankOnlyBecause === undefined ? water?.tankShare : 1;
      const bath = share === undefined ? [] : [{ bath_l: water?.bathL ?? usualBathL, tank_share: share }];
      const batch = entry.batch ?? batchFor(batches.all(), id)?.id;
      const here =
        entry.pieces.length > 0 ? entry.pieces : pieces.all({ arrival: id, isHere: true }).map((one) => one.id);
      return runs.start(
        id,
        {
          ...entry,
          baths: entry.baths.length > 0 ? entry.baths : bath,
          rinse_l: entry.rinse_l ?? water?.bathL ?? 0,
          pieces: here,
          ...defined({ batch }),
        },
        nowMs,
      );
    },
  };
}

/** The newest batch that was made for an arrival and is not used up. */
export function batchFor(
  batches: ReturnType<Batches['all']>,
  arrival: string,
): ReturnType<Batches['all']>[number] | undefined {
  return batches.findLast((batch) => batch.arrival === arrival && batch.litres > batch.usedL);
}

function sizesOf({ id, pieces }: Arrival): PrepareEntry['pieces'] {
  if (pieces.length === 0) throw new Refused('not_known', `pieces: ${id} has none entered, give their number and size`);
  return pieces.map(({ kind, count, longest_cm }) => {
    if (longest_cm === undefined)
      throw new Refused('not_known', `longest_cm: the size of ${kind} is not known, give it`);
    return { count, longest_cm };
  });
}
