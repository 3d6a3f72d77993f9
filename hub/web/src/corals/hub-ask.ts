import { useEffect, useRef, useState } from 'preact/hooks';
import { isConnected } from '../room/room-state.ts';

const answerWithinMs = 8000;

/** What the hub said of a request that it did not take; status 0 when it did not answer at all. */
export type Problem = { status: number; detail: string; errors: { field: string; need: string }[] };

export type Told<Body> = { ok: true; body: Body } | { ok: false; problem: Problem };

export const hubIsAway = 'The hub does not answer. What you typed stays on this device; press again when it is back.';

async function answered<Body>(path: string, request: RequestInit): Promise<Told<Body>> {
  try {
    const signal = AbortSignal.timeout(answerWithinMs);
    const response = await fetch(`./api/${path}`, { cache: 'no-store', signal, ...request });
    const text = await response.text();
    const body: unknown = text === '' ? null : JSON.parse(text);
    if (response.ok) return { ok: true, body: body as Body };
    const told = body as Partial<Problem> & { title?: string };
    const detail = told.detail ?? told.title ?? `the hub answered ${response.status}`;
    return { ok: false, problem: { status: response.status, detail, errors: told.errors ?? [] } };
  } catch {
    return { ok: false, problem: { status: 0, detail: hubIsAway, errors: [] } };
  }
}

export function read<Body>(path: string): Promise<Told<Body>> {
  return answered(path, {});
}

export function send<Body>(path: string, body: unknown, method: 'POST' | 'DELETE' = 'POST'): Promise<Told<Body>> {
  const content = { headers: { 'content-type': 'application/json' }, body: JSON.stringify(body) };
  return answered(path, method === 'DELETE' ? { method } : { method, ...content });
}

/** A file as it is; the type that its device gives it. */
export function sendFile<Body>(path: string, file: File): Promise<Told<Body>> {
  return answered(path, { method: 'POST', headers: { 'content-type': file.type }, body: file });
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
