import { useEffect, useRef, useState } from 'preact/hooks';
import { addressOf } from '../../../api/address.ts';
import type { AnswerOf, AskedOf, Route } from '../../../api/contract.ts';
import { isConnected } from '../room/room-signals.ts';
import { askRoute } from './ask.ts';

export type Answered<Body> = {
  answer: Body | undefined;
  /** Why nothing newer is known. */
  failure: string | undefined;
  /** The hub is at work on its first answer. */
  isLearning: boolean;
  again(): void;
  /** An answer to something else said it already. */
  know(body: Body): void;
};

/** Asks the hub, and again every so often, so that two devices show the same. The last answer stays while it is away. */
export function useAnswer<Name extends Route>(
  route: Name,
  asked: AskedOf<Name>,
  everyMs = 10_000,
): Answered<AnswerOf<Name>> {
  const { path } = addressOf(route, asked);
  const [last, setLast] = useState<{ path: string; body: AnswerOf<Name> } | undefined>(undefined);
  const [failure, setFailure] = useState<string | undefined>(undefined);
  const [isLearning, setLearning] = useState(false);
  const questions = useRef(0);
  /** The question whose answer is shown: what was asked before it has nothing to add. */
  const answered = useRef(0);
  const isUp = isConnected.value;

  function isNewest(question: number): boolean {
    if (question < answered.current) return false;
    answered.current = question;
    return true;
  }

  function know(body: AnswerOf<Name>): void {
    questions.current += 1;
    answered.current = questions.current;
    setLast({ path, body });
    setFailure(undefined);
  }

  async function again(): Promise<void> {
    questions.current += 1;
    const mine = questions.current;
    const answer = await askRoute(route, asked);
    if (!isNewest(mine)) return;
    setLearning(!answer.ok && answer.problem.status === 503);
    if (answer.ok) {
      setLast({ path, body: answer.body });
      setFailure(undefined);
    } else
      setFailure(answer.problem.status === 0 ? 'The hub does not answer; this may be old.' : answer.problem.detail);
  }

  useEffect(() => {
    void again();
    const timer = setInterval(() => void again(), everyMs);
    return () => {
      questions.current += 1;
      answered.current = questions.current;
      clearInterval(timer);
    };
  }, [path, everyMs, isUp]);

  return { answer: last?.path === path ? last.body : undefined, failure, isLearning, again: () => void again(), know };
}
