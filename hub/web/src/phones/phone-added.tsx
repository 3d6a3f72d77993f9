import { useEffect, useState } from 'preact/hooks';
import type { AnswerOf } from '../../../api/contract.ts';
import { askRoute } from '../kit/ask.ts';

type Result = AnswerOf<'POST /api/phones/:name/test'>['result'];

const askEveryMs = 1500;
/** The hub itself waits ten seconds for the phone. */
const answeredWithinMs = 15_000;

const words: Record<Result, string> = {
  not_connected: 'Waiting for the phone …',
  not_subscribed: 'The phone is connected. Subscribe to the topic with QoS 1.',
  without_acknowledgement: 'Test line sent. With QoS 0 no one knows whether it arrived: set QoS 1 in the app.',
  not_acknowledged: 'Test line sent, no answer. Open the app.',
  received: 'The phone received the test line.',
  sent_outside: 'Test line sent.',
};

/** What goes into the app, shown this once; then whether the phone has the test line. `changed`: it came nearer or went. */
export function PhoneAdded({ added, changed }: { added: AnswerOf<'POST /api/phones'>; changed: () => void }) {
  const [result, setResult] = useState<Result>('not_connected');
  const [isWhole, setIsWhole] = useState(false);
  useEffect(() => {
    const stop = new AbortController();
    let timer: ReturnType<typeof setTimeout>;
    let last: Result = 'not_connected';
    const look = async () => {
      const asked = { params: { name: added.user } };
      const asking = { stop: stop.signal, withinMs: answeredWithinMs };
      const outcome = await askRoute('POST /api/phones/:name/test', asked, asking);
      if (stop.signal.aborted) return;
      if (outcome.ok && outcome.body.result !== last) {
        last = outcome.body.result;
        setResult(last);
        changed();
      }
      if (!outcome.ok || outcome.body.result !== 'received') timer = setTimeout(() => void look(), askEveryMs);
    };
    void look();
    return () => {
      clearTimeout(timer);
      stop.abort();
    };
  }, [added.user]);

  const rows: [string, string][] = [
    ['Host', added.hosts.join(' or ')],
    ['Port', `${added.port}${added.tls ? ', TLS' : ''}`],
    ['User', added.user],
    ['Password', added.password],
    ['Topic', `${added.topic}, QoS 1`],
  ];
  return (
    <section aria-label={`Enter this in the app on ${added.user}`}>
      <dl class="phone-place">
        {rows.map(([name, value]) => (
          <div key={name}>
            <dt>{name}</dt>
            <dd>
              <code>{value}</code>
            </dd>
          </div>
        ))}
      </dl>
      <p>The password is shown only once.</p>
      <img
        class="phone-qr"
        alt={isWhole ? 'QR code of the address with the password' : `QR code of ${added.address}`}
        src={`data:image/svg+xml,${encodeURIComponent(isWhole ? added.qr_with_password : added.qr)}`}
      />
      <label class="phone-open">
        <input type="checkbox" checked={isWhole} onChange={() => setIsWhole(!isWhole)} />
        Password in the QR code
      </label>
      {added.trouble !== null && <p role="alert">The broker cannot listen: {added.trouble}</p>}
      {added.warnings.map((warning) => (
        <p key={warning}>{warning}</p>
      ))}
      <p role="status" data-phone-result={result}>
        <b>{words[result]}</b>
      </p>
    </section>
  );
}
