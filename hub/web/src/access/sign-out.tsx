import { useEffect, useState } from 'preact/hooks';
import { fetchSoon } from '../room/room-signals.ts';
import { isSignedIn, signOut } from './session.ts';

/** Ends the sign-in of this device, or of all; nothing is shown where there is none. */
export function SignOut() {
  const [isIn, setIn] = useState(false);
  const [isLost, setLost] = useState(false);

  useEffect(() => {
    void isSignedIn().then(setIn);
  }, []);

  async function leave(where: 'here' | 'everywhere'): Promise<void> {
    setLost(!(await signOut(where)));
    // The hub's refusal brings the sign-in.
    fetchSoon();
  }

  if (!isIn) return null;
  return (
    <section class="setting-group" aria-labelledby="sign-out">
      <h3 id="sign-out">Sign-in</h3>
      <p>Unsent entries stay on this device until somebody signs in here again.</p>
      <div class="buttons">
        <button type="button" onClick={() => void leave('here')}>
          Sign out
        </button>
        <button type="button" onClick={() => void leave('everywhere')}>
          Sign out on every device
        </button>
      </div>
      <p role="status">{isLost && 'The hub does not answer, so this device is still signed in.'}</p>
    </section>
  );
}
