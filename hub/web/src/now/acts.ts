import { addressOf } from '../kit/route.ts';
import { whoHere } from '../kit/who.tsx';
import { post } from '../room/room-state.ts';
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
    case 'calibrate':
      return `#/probes/${part(act.probe)}`;
    default:
      return undefined;
  }
}

type Request = { path: string; body: unknown /** Where the next step of it is. */; onward?: (told: unknown) => string };

function requestOf({ act }: Deed): Request | undefined {
  switch (act.do) {
    case 'acknowledge':
      return { path: 'alarms/acknowledge', body: { alarm: act.alarm, by: whoHere() } };
    case 'arrived':
      return { path: `arrivals/${part(act.arrival)}/arrived`, body: {}, onward: () => arrivalAt(act.arrival) };
    case 'start_checklist':
      return {
        path: `arrivals/${part(act.arrival)}/runs`,
        body: { start_timer: true },
        onward: (told) => runAt(act.arrival, (told as { id: string }).id),
      };
    case 'refill':
      return { path: 'refills', body: { system: act.system, stock: act.stock, by: whoHere() } };
    case 'rack_set':
      return { path: `arrivals/${part(act.arrival)}/light/moved`, body: {} };
    case 'start_timer':
      return { path: `runs/${part(act.run)}/timer`, body: {}, onward: () => runAt(act.arrival, act.run) };
    case 'step_done':
      return { path: `runs/${part(act.run)}/done`, body: {}, onward: () => runAt(act.arrival, act.run) };
    default:
      return undefined;
  }
}

/** Does what one tap does. @returns why it was not taken; undefined when it was */
export async function actOn(deed: Deed): Promise<string | undefined> {
  const request = requestOf(deed);
  if (request === undefined) return undefined;
  const answer = await post(request.path, request.body);
  askAgain();
  if (!answer.ok) return `${answer.problem.title}. ${answer.problem.detail}`;
  if (request.onward !== undefined) location.hash = request.onward(answer.body);
  return undefined;
}
