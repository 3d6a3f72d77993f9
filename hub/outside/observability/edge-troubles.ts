import type { EdgeState } from '#adapters/ports/edge.ts';

/** Tells of edges that are up and have trouble all the same, as edges of their own, so that each becomes an alarm and ends. */
export function createEdgeTroubles(
  edges: () => readonly EdgeState[],
  report: (name: string, isUp: boolean, detail: string) => void,
): { look(): void } {
  const troubled = new Set<string>();
  return {
    look() {
      for (const { name, trouble } of edges()) {
        if ((trouble !== undefined) === troubled.has(name)) continue;
        if (trouble === undefined) troubled.delete(name);
        else troubled.add(name);
        report(`${name}/trouble`, trouble === undefined, trouble ?? 'over');
      }
    },
  };
}
