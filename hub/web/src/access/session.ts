import { askRoute, isSignInNeeded } from '../kit/ask.ts';

/** The passphrase costs a small board some seconds. */
const withinMs = 15_000;

export type SignedIn = { is: 'in' } | { is: 'wrong' } | { is: 'wait'; seconds: number } | { is: 'away' };

export async function signIn(passphrase: string): Promise<SignedIn> {
  const outcome = await askRoute('POST /api/session', { body: { passphrase } }, { withinMs });
  if (outcome.ok) {
    isSignInNeeded.value = false;
    return { is: 'in' };
  }
  const { status, retryAfterS = 60 } = outcome.problem;
  if (status === 401) return { is: 'wrong' };
  return status === 429 ? { is: 'wait', seconds: retryAfterS } : { is: 'away' };
}

/** What was typed and not sent stays on this device. False when the hub did not answer: then nobody is signed out. */
export async function signOut(where: 'here' | 'everywhere'): Promise<boolean> {
  const outcome = await askRoute(where === 'here' ? 'DELETE /api/session' : 'DELETE /api/sessions', {}, { withinMs });
  return outcome.ok || outcome.problem.status === 401;
}

/** Whether this device came in by a passphrase, so that there is something to sign out of. */
export async function isSignedIn(): Promise<boolean> {
  const outcome = await askRoute('GET /api/session', {});
  return outcome.ok && outcome.body.by === 'session';
}
