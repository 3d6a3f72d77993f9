import type { SendResult } from './line-sender.ts';

export type Delivery =
  | { ok: true; bad: { line: string; detail: string }[] }
  | { ok: false; kind: 'later'; detail: string };

/**
 * Delivers lines of which the server refuses some: halves what is refused until single lines are left, so that every good
 * line arrives and each bad one is known with its reason. Servers may have stored the good part of a refused batch; sending
 * it again overwrites it.
 *
 * Ends at once when the server goes away; the caller begins again later.
 */
export async function deliverGoodLines(
  lines: readonly string[],
  send: (lines: string) => Promise<SendResult>,
): Promise<Delivery> {
  const result = await send(lines.join('\n'));
  if (result.ok) return { ok: true, bad: [] };
  if (result.kind === 'later') return { ...result, kind: 'later' };
  if (lines.length === 1) return { ok: true, bad: [{ line: lines[0]!, detail: result.detail }] };
  const middle = Math.ceil(lines.length / 2);
  const first = await deliverGoodLines(lines.slice(0, middle), send);
  if (!first.ok) return first;
  const second = await deliverGoodLines(lines.slice(middle), send);
  if (!second.ok) return second;
  return { ok: true, bad: [...first.bad, ...second.bad] };
}
