import type { AnswerOf, AskedOf, Route, SaidOf } from '../../../api/contract.ts';
import { askRoute, type Outcome } from '../kit/ask.ts';

export const hubIsAway = 'The hub does not answer. What you typed stays on this device; press again when it is back.';

/** For a form, in which the words stay until the hub is back. */
export async function send<Name extends Route>(route: Name, said: SaidOf<Name>): Promise<Outcome<AnswerOf<Name>>> {
  const outcome = await askRoute(route, said as AskedOf<Name>);
  return outcome.ok || outcome.problem.status !== 0
    ? outcome
    : { ok: false, problem: { ...outcome.problem, detail: hubIsAway } };
}
