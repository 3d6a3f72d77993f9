import { useEffect, useRef, useState } from 'preact/hooks';
import { type Asking, ask, type Told } from '../kit/ask.ts';
import { isConnected } from '../room/room-state.ts';

export const hubIsAway = 'The hub does not answer. What you typed stays on this device; press again when it is back.';

/** For a form, in which the words stay until the hub is back. */
async function asked<Body>(path: string, asking: Asking): Promise<Told<Body>> {
  const told = await ask<Body>(path, asking);
  return told.ok || told.problem.status !== 0 ? told : { ok: false, problem: { ...told.problem, detail: hubIsAway } };
}

export function read<Body>(path: string): Promise<Told<Body>> {
  return asked(path, {});
}

export function send<Body>(path: string, body: unknown, method: 'POST' | 'DELETE' = 'POST'): Promise<Told<Body>> {
  return asked(path, method === 'DELETE' ? { method } : { method, body });
}

export type Reading<Body> = {
  told: Body | undefined;
  /** Why nothing newer is known. */
  failure: string | undefined;
  again(): void;
  /** What an answer to something else has told already. */
  know(body: Body): void;
};

/** Reads from the hub, and again every so often, so that two devices show the same. The last answer stays while it is away. */
export function useReading<Body>(path: string, everyMs = 10_000): Reading<Body> {
  const [told, setTold] = useState<{ path: string; body: Body } | undefined>(undefined);
  const [failure, setFailure] = useState<string | undefined>(undefined);
  const asked = useRef(0);
  const isUp = isConnected.value;

  function know(body: Body): void {
    asked.current += 1;
    setTold({ path, body });
    setFailure(undefined);
  }

  async function again(): Promise<void> {
    asked.current += 1;
    const mine = asked.current;
    const answer = await read<Body>(path);
    // A slow answer must not undo what a later one has told.
    if (mine !== asked.current) return;
    if (answer.ok) know(answer.body);
    else setFailure(answer.problem.status === 0 ? 'The hub does not answer; this may be old.' : answer.problem.detail);
  }

  useEffect(() => {
    void again();
    const timer = setInterval(() => void again(), everyMs);
    return () => {
      asked.current += 1;
      clearInterval(timer);
    };
  }, [path, everyMs, isUp]);

  return { told: told?.path === path ? told.body : undefined, failure, again: () => void again(), know };
}
