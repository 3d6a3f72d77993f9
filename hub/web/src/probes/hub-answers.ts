import { useEffect, useState } from 'preact/hooks';

/** What the hub answers at an address, asked again every so often and whenever `again` changes. */
export type Asked<Document> = { document: Document | undefined; isLost: boolean };

export function useHub<Document>(path: string, everyMs: number, again = 0): Asked<Document> {
  const [asked, setAsked] = useState<Asked<Document> & { path: string }>({ path, document: undefined, isLost: false });
  useEffect(() => {
    const stop = new AbortController();
    const ask = async () => {
      try {
        const response = await fetch(`./api/${path}`, { cache: 'no-store', signal: stop.signal });
        if (!response.ok) throw new Error(`the hub answered ${response.status}`);
        const document = (await response.json()) as Document;
        setAsked({ path, document, isLost: false });
      } catch {
        // What was known stays in view, and is said to be old.
        if (!stop.signal.aborted) setAsked((before) => ({ ...before, isLost: true }));
      }
    };
    void ask();
    const timer = setInterval(() => void ask(), everyMs);
    return () => {
      clearInterval(timer);
      stop.abort();
    };
  }, [path, everyMs, again]);
  return asked.path === path ? asked : { document: undefined, isLost: asked.isLost };
}
