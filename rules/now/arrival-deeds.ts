import { hourMs } from '../clock/durations.ts';
import { defined } from '../plain-data/defined.ts';
import { type RankedDeed, ranks, urgencyOf } from './deed.ts';
import type { ArrivalFacts, NowFacts, RunFacts } from './facts.ts';

/** So long before their day corals ask for nothing: salt water is made in a day and kept for two. Common practice. */
const waterAheadMs = 72 * hourMs;

type Place = { rank: number; dueMs: number };

const placed = (place: Place, deed: Omit<RankedDeed, 'rank' | 'dueMs' | 'urgency'>): RankedDeed => ({
  ...deed,
  ...place,
  urgency: urgencyOf(place.rank),
});

/** A step as an order to whoever stands there. */
export const stepOrders: Readonly<Record<RunFacts['step'], string>> = {
  float: 'Float the closed bags',
  acclimate: 'Acclimate: exchange bag water for tank water',
  dip_bath: 'Make the dip bath',
  soak: 'Put the pieces into the dip',
  swirl_and_rinse_off: 'Shake the pieces and rinse them off',
  rinse_bath: 'Put the pieces into the rinse',
  new_plug: 'Put the pieces on new plugs',
  inspection: 'Inspect the pieces and write down what you see',
  placement: 'Place the pieces in the tank',
};

const inSentence = (order: string) => order.charAt(0).toLowerCase() + order.slice(1);

const overWords: Partial<Record<RunFacts['step'], { what: string; words: string }>> = {
  soak: { what: 'Take the pieces out of the dip and rinse them off', words: 'They are out' },
  float: { what: 'The bags have floated long enough', words: 'Go on' },
  acclimate: { what: 'Acclimation is done', words: 'Go on' },
  rinse_bath: { what: 'Rinse done: take the pieces out', words: 'They are out' },
};

const runningWords: Partial<Record<RunFacts['step'], string>> = {
  soak: 'Pieces are in the dip: stay with them',
  float: 'Closed bags float',
  acclimate: 'Bags are acclimated',
  rinse_bath: 'Pieces are in the rinse',
};

/** The step at hand of a checklist, with its clock. */
export function runDeed(run: RunFacts, nowMs: number): RankedDeed {
  const { clock, arrival, run: id } = run;
  const next = run.next === undefined ? 'last step' : `next: ${inSentence(stepOrders[run.next])}`;
  const more = `${run.arrivalName} · ${next}`;
  const order = stepOrders[run.step];
  const about = { id: `run:${id}`, tank: run.system, more };
  if (clock !== undefined && nowMs >= clock.endsMs) {
    const over = overWords[run.step] ?? { what: `${order}: time is up`, words: 'Done' };
    // Of two times that are over the dip is the one that harms.
    const dueMs = run.step === 'soak' ? 0 : clock.endsMs;
    return placed(
      { rank: ranks.timeOver, dueMs },
      { ...about, ...over, clock, act: { do: 'step_done', arrival, run: id } },
    );
  }
  if (clock !== undefined) {
    const what = runningWords[run.step] ?? order;
    const act = { do: 'open_step', arrival, run: id } as const;
    return placed({ rank: ranks.timer, dueMs: clock.endsMs }, { ...about, what, clock, words: 'Open', act });
  }
  const place = { rank: ranks.arrivalStep, dueMs: run.sinceMs };
  if (run.minutes !== undefined) {
    const words = `Start ${run.minutes} min`;
    return placed(place, { ...about, what: order, words, act: { do: 'start_timer', arrival, run: id } });
  }
  const amounts = run.amounts === undefined ? {} : { more: `${run.amounts} · ${more}` };
  return placed(place, {
    ...about,
    ...amounts,
    what: order,
    words: 'Open',
    act: { do: 'open_step', arrival, run: id },
  });
}

/** What an arrival asks for beside its checklists. */
export function arrivalDeeds(found: ArrivalFacts, facts: NowFacts): RankedDeed[] {
  return found.state === 'expected' ? expectedDeeds(found, facts) : careDeeds(found, facts);
}

function expectedDeeds({ arrival, name, system, expectedMs, water }: ArrivalFacts, facts: NowFacts): RankedDeed[] {
  const deeds: RankedDeed[] = [];
  const about = { tank: system };
  if (expectedMs === undefined) return deeds;
  if (expectedMs <= facts.dayEndsMs) {
    deeds.push(
      placed(
        { rank: ranks.arrivalStep, dueMs: expectedMs },
        {
          ...about,
          id: `expected:${arrival}`,
          what: `${name}: say when they are here`,
          words: 'They are here',
          act: { do: 'arrived', arrival },
        },
      ),
    );
  }
  if (water === undefined || water.is === 'ready' || expectedMs - facts.nowMs > waterAheadMs) return deeds;
  const litres = water.litres === undefined ? 'salt water' : `${water.litres.toFixed(1)} L of salt water`;
  if (water.is === 'none') {
    deeds.push(
      placed(
        { rank: ranks.water, dueMs: water.startByMs ?? expectedMs },
        {
          ...about,
          id: `water:${arrival}`,
          what: `Make ${litres} for ${name}`,
          words: 'Make it',
          act: { do: 'prepare_water', arrival },
        },
      ),
    );
  } else if (water.batch !== undefined) {
    deeds.push(
      placed(
        { rank: ranks.water, dueMs: expectedMs },
        {
          ...about,
          id: `water:${arrival}`,
          what: `Match the salt water for ${name}`,
          words: 'Measure it',
          ...defined({ more: water.why }),
          act: { do: 'open_batch', batch: water.batch },
        },
      ),
    );
  }
  return deeds;
}

function careDeeds(found: ArrivalFacts, facts: NowFacts): RankedDeed[] {
  const { arrival, name, system } = found;
  const about = { tank: system };
  const deeds: RankedDeed[] = [];
  if (found.isInBags) {
    deeds.push(
      placed(
        { rank: ranks.arrivalStep, dueMs: found.arrivedMs ?? facts.nowMs },
        {
          ...about,
          id: `bags:${arrival}`,
          what: `Float the closed bags of ${name}`,
          words: 'Start',
          more: 'lamps low; the bags stay closed',
          act: { do: 'start_checklist', arrival },
        },
      ),
    );
  }
  const { rack, inspection, dip, quarantineEndsMs } = found;
  if (rack !== undefined) {
    deeds.push(
      placed(
        { rank: ranks.rack, dueMs: facts.dayEndsMs },
        {
          ...about,
          id: `rack:${arrival}`,
          what: `Set the rack of ${name} to ${rack.height_cm} cm`,
          words: 'It is set',
          more: `light day ${rack.day} of ${rack.days}; pale pieces: hold or step back`,
          act: { do: 'rack_set', arrival },
        },
      ),
    );
  }
  if (dip !== undefined && dip.opensMs <= facts.dayEndsMs) {
    const what = dip.isLate ? `Dip ${name} again: it is late` : `Dip ${name} again`;
    deeds.push(
      placed(
        { rank: ranks.dip, dueMs: dip.dueMs },
        {
          ...about,
          id: `dip:${arrival}`,
          what,
          words: 'Start the dip',
          more: `${dip.pest}: no dip kills eggs, this one reaches what has hatched before it lays`,
          act: { do: 'dip_again', arrival },
        },
      ),
    );
  }
  if (inspection !== undefined && inspection.dueMs <= facts.dayEndsMs) {
    deeds.push(
      placed(
        { rank: ranks.inspection, dueMs: inspection.dueMs },
        {
          ...about,
          id: `inspection:${arrival}`,
          what: `Inspect ${name} for pests`,
          words: 'Log inspection',
          more: `look for ${inspection.lookFor}`,
          act: { do: 'inspect', arrival },
        },
      ),
    );
  }
  if (quarantineEndsMs !== undefined && quarantineEndsMs <= facts.dayEndsMs) {
    deeds.push(
      placed(
        { rank: ranks.inspection, dueMs: quarantineEndsMs },
        {
          ...about,
          id: `quarantine:${arrival}`,
          what: `The quarantine of ${name} ends: inspect before they move`,
          words: 'Open',
          act: { do: 'open_arrival', arrival },
        },
      ),
    );
  }
  return deeds;
}
