import type { Outcome } from '../kit/ask.ts';
import { addressOf } from '../kit/route.ts';
import { whoHere } from '../kit/who.tsx';
import { change } from '../room/room-signals.ts';
import { askAgain, type Deed } from './now-state.ts';

const part = encodeURIComponent;
const arrivalAt = (id: string) => `#/corals/arrival/${part(id)}`;
const runAt = (arrival: string, run: string) => `${arrivalAt(arrival)}/run/${part(run)}`;

/** Where a deed is done that needs a view of its own; undefined for one that a tap or a form in place does. */
export function placeOf({ act }: Deed): string | undefined {
  switch (act.do) {
    case 'look':
      return act.system === '' ? '#/alarms' : addressOf(act.system);
    case 'open_step':
      return runAt(act.arrival, act.run);
    case 'prepare_water':
      return `#/corals/prepare/${part(act.arrival)}`;
    case 'inspect':
    case 'dip_again':
    case 'open_arrival':
      return arrivalAt(act.arrival);
    case 'open_piece':
      return `#/corals/piece/${part(act.piece)}`;
    case 'open_batch':
      return `#/water/${part(act.batch)}`;
    case 'compare_kit':
      return '#/kits';
    case 'calibrate':
      return `#/probes/${part(act.probe)}`;
    default:
      return undefined;
  }
}

/** What the hub said, and where the next step is. */
type Done = { outcome: Outcome<unknown>; onward?: string };

async function done({ act }: Deed): Promise<Done | undefined> {
  switch (act.do) {
    case 'acknowledge':
      return { outcome: await change('POST /api/alarms/acknowledge', { body: { alarm: act.alarm, by: whoHere() } }) };
    case 'arrived': {
      const outcome = await change('POST /api/arrivals/:id/arrived', { params: { id: act.arrival }, body: {} });
      return { outcome, onward: arrivalAt(act.arrival) };
    }
    case 'start_checklist': {
      const asked = { params: { id: act.arrival }, body: { start_timer: true } };
      const outcome = await change('POST /api/arrivals/:id/runs', asked);
      return outcome.ok ? { outcome, onward: runAt(act.arrival, outcome.body.id) } : { outcome };
    }
    case 'refill': {
      const body = { system: act.system, stock: act.stock, by: whoHere() };
      return { outcome: await change('POST /api/refills', { body }) };
    }
    case 'rack_set':
      return { outcome: await change('POST /api/arrivals/:id/light/moved', { params: { id: act.arrival }, body: {} }) };
    case 'start_timer': {
      const outcome = await change('POST /api/runs/:run/timer', { params: { run: act.run }, body: {} });
      return { outcome, onward: runAt(act.arrival, act.run) };
    }
    case 'step_done': {
      const outcome = await change('POST /api/runs/:run/done', { params: { run: act.run }, body: {} });
      return { outcome, onward: runAt(act.arrival, act.run) };
    }
    default:
      return undefined;
  }
}

/** Does what one tap does. @returns why it was not taken; undefined when it was */
export async function actOn(deed: Deed): Promise<string | undefined> {
  const what = await done(deed);
  if (what === undefined) return undefined;
  const { outcome, onward } = what;
  askAgain();
  if (!outcome.ok) return `${outcome.problem.title}. ${outcome.problem.detail}`;
  if (onward !== undefined) location.hash = onward;
  return undefined;
}
