import { useEffect, useState } from 'preact/hooks';
import type { AskedOf, Route } from '../../../api/contract.ts';
import { useAnswer } from '../kit/use-answer.ts';

/** A day changes little of what comes in months. */
const askEveryMs = 600_000;
const askSoonMs = 5_000;

/** What the hub works out over months: asked for again soon until it is there, and then seldom. */
export function useSlowAnswer<Name extends Route>(route: Name, asked: AskedOf<Name>) {
  const [everyMs, setEveryMs] = useState(askSoonMs);
  const known = useAnswer(route, asked, everyMs);
  const isThere = known.answer !== undefined;
  useEffect(() => setEveryMs(isThere ? askEveryMs : askSoonMs), [isThere]);
  return known;
}
