import { useEffect, useRef, useState } from 'preact/hooks';
import { unsent } from '../kit/unsent.ts';
import { followAfterSignIn } from '../room/room-signals.ts';
import { type SignedIn, signIn } from './session.ts';
import './sign-in.css';

function words(outcome: SignedIn): string {
  switch (outcome.is) {
    case 'wrong':
      return 'The hub does not know this passphrase. Capitals and spaces count.';
    case 'wait':
      return `Too many tries. Try again in ${outcome.seconds} seconds.`;
    case 'away':
      return 'The hub does not answer. Try again when it is back.';
    case 'in':
      return '';
  }
}

/** Stands in place of the room until the hub knows who asks. */
export function SignInView() {
  const [isShown, setShown] = useState(false);
  const [isAsking, setAsking] = useState(false);
  const [outcome, setOutcome] = useState<SignedIn>();
  const field = useRef<HTMLInputElement>(null);
  const waiting = unsent.value.length;

  useEffect(() => field.current?.focus(), []);

  async function submit(): Promise<void> {
    setAsking(true);
    const answer = await signIn(field.current?.value ?? '');
    setAsking(false);
    setOutcome(answer);
    if (answer.is === 'in') followAfterSignIn();
    else field.current?.select();
  }

  return (
    <main class="sign-in">
      <h1>Brinekeep</h1>
      <h2>Sign in</h2>
      <form
        onSubmit={(event) => {
          event.preventDefault();
          if (!isAsking) void submit();
        }}
      >
        <label for="passphrase">Passphrase of this hub</label>
        <input
          id="passphrase"
          ref={field}
          type={(isShown ? 'text' : 'password') as 'password'}
          autocomplete="current-password"
          autocapitalize="off"
          spellcheck={false}
          required
          maxLength={1024}
          aria-describedby="sign-in-answer"
        />
        <div class="buttons">
          <button type="submit" class="primary" aria-disabled={isAsking}>
            Sign in
          </button>
          <button type="button" aria-pressed={isShown} onClick={() => setShown(!isShown)}>
            Show what I type
          </button>
        </div>
        <p id="sign-in-answer" class="answer answer-bad" role="alert">
          {isAsking ? 'Asking …' : outcome === undefined ? '' : words(outcome)}
        </p>
      </form>
      {waiting > 0 && (
        <p role="status">
          {waiting === 1 ? 'One entry waits' : `${waiting} entries wait`} on this device. Nothing of it is lost: it goes
          and will be sent once you are in.
        </p>
      )}
      <details>
        <summary>The passphrase is lost</summary>
        <p>
          On the machine of the hub, <code>brinekeep passphrase CONFIG</code> sets another one. Probes, alarms and
          notices go on meanwhile.
        </p>
      </details>
    </main>
  );
}
