import { useEffect, useState } from 'preact/hooks';
import { ask } from '../kit/ask.ts';

/** What the hub answers at an address, asked again every so often and whenever `again` changes. */
export type Asked<Document> = { document: Document | undefined; isLost: boolean };

export function useHub<Document>(path: string, everyMs: number, again = 0): Asked<Document> {
  const [asked, setAsked] = useState<Asked<Document> & { path: string }>({ path, document: undefined, isLost: false });
  useEffect(() => {
    const stop = new AbortController();
    const look = async () => {
      const told = await ask<Document>(path, { stop: stop.signal });
      if (stop.signal.aborted) return;
      if (told.ok) setAsked({ path, document: told.body, isLost: false });
      // What was known stays in view, and is said to be old.
      else setAsked((before) => ({ ...before, isLost: true }));
    };
    void look();
    const timer = setInterval(() => void look(), everyMs);
    return () => {
      clearInterval(timer);
      stop.abort();
    };
  }, [path, everyMs, again]);
  return asked.path === path ? asked : { document: undefined, isLost: asked.isLost };
}
