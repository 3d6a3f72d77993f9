import type { AnswerOf, AskedOf, Route, SaidOf } from '../../../api/contract.ts';
import { askRoute, type Told } from '../kit/ask.ts';

export const hubIsAway = 'The hub does not answer. What you typed stays on this device; press again when it is back.';

/** For a form, in which the words stay until the hub is back. */
export async function send<Name extends Route>(route: Name, said: SaidOf<Name>): Promise<Told<AnswerOf<Name>>> {
  const told = await askRoute(route, said as AskedOf<Name>);
  return told.ok || told.problem.status !== 0 ? told : { ok: false, problem: { ...told.problem, detail: hubIsAway } };
}
