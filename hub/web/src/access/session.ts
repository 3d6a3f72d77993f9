import { signal } from '@preact/signals';

/** Set when the hub answers that it does not know who asks; the sign-in then stands in place of the room. */
export const isSignInNeeded = signal(false);

const answerWithinMs = 15_000;

export type SignedIn = { is: 'in' } | { is: 'wrong' } | { is: 'wait'; seconds: number } | { is: 'away' };

async function ask(method: 'POST' | 'DELETE', path: string, body?: unknown): Promise<Response | undefined> {
  const json = { headers: { 'content-type': 'application/json' }, body: JSON.stringify(body) };
  try {
    return await fetch(`./api/${path}`, {
      method,
      ...(body === undefined ? {} : json),
      signal: AbortSignal.timeout(answerWithinMs),
    });
  } catch {
    return undefined;
  }
}

export async function signIn(passphrase: string): Promise<SignedIn> {
  const response = await ask('POST', 'session', { passphrase });
  if (response === undefined) return { is: 'away' };
  if (response.ok) {
    isSignInNeeded.value = false;
    return { is: 'in' };
  }
  if (response.status === 401) return { is: 'wrong' };
  if (response.status === 429) return { is: 'wait', seconds: Number(response.headers.get('retry-after') ?? 60) };
  return { is: 'away' };
}

/** What was typed and not sent stays on this device. False when the hub did not answer: then nobody is signed out. */
export async function signOut(where: 'here' | 'everywhere'): Promise<boolean> {
  const response = await ask('DELETE', where === 'here' ? 'session' : 'sessions');
  return response !== undefined && (response.ok || response.status === 401);
}

/** Whether this device came in by a passphrase, so that there is something to sign out of. */
export async function isSignedIn(): Promise<boolean> {
  try {
    const response = await fetch('./api/session', { cache: 'no-store' });
    return response.ok && ((await response.json()) as { by: string | null }).by === 'session';
  } catch {
    return false;
  }
}
