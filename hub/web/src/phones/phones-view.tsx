import { useEffect, useState } from 'preact/hooks';
import type { AnswerOf } from '../../../api/contract.ts';
import { outsideBrokerRules } from '../../../api/outside-broker.ts';
import { askRoute, type Problem } from '../kit/ask.ts';
import { whoHere } from '../kit/who.tsx';
import { PhoneAdded } from './phone-added.tsx';
import '../style/phones.css';

type Now = AnswerOf<'GET /api/phones'>;
type Added = AnswerOf<'POST /api/phones'>;

const said = ({ title, detail }: Problem) => `${title}. ${detail}`;

/** Phones as users of the broker inside: made, tried, taken away. Whoever may not do this is not shown it. */
export default function PhonesView() {
  const [now, setNow] = useState<Now | undefined>(undefined);
  const [name, setName] = useState('');
  const [mayOpen, setMayOpen] = useState(false);
  const [added, setAdded] = useState<Added | undefined>(undefined);
  const [answer, setAnswer] = useState('');

  async function look(): Promise<void> {
    const outcome = await askRoute('GET /api/phones', {});
    if (outcome.ok) setNow(outcome.body);
    else setAnswer(said(outcome.problem));
  }
  useEffect(() => void look(), []);

  async function add(event: Event): Promise<void> {
    event.preventDefault();
    const outcome = await askRoute('POST /api/phones', { body: { name: name.trim(), open: mayOpen, by: whoHere() } });
    setAnswer(outcome.ok ? '' : said(outcome.problem));
    if (!outcome.ok) return;
    setAdded(outcome.body);
    setName('');
    void look();
  }

  async function remove(phone: string): Promise<void> {
    const outcome = await askRoute('DELETE /api/phones/:name', { params: { name: phone } });
    const closed =
      outcome.ok && outcome.body.is_closed ? ' It was the last: the broker is closed to the network again.' : '';
    setAnswer(outcome.ok ? `Phone ${phone} removed.${closed}` : said(outcome.problem));
    if (added?.user === phone) setAdded(undefined);
    void look();
  }

  async function close(): Promise<void> {
    const outcome = await askRoute('POST /api/phones/close', { body: { by: whoHere() } });
    setAnswer(outcome.ok ? 'The broker is open to this machine only.' : said(outcome.problem));
    void look();
  }

  return (
    <main class="page">
      <h2 tabIndex={-1} data-view-title>
        Phones
      </h2>
      <p class="answer" role="status">
        {answer}
      </p>
      {now?.broker === 'outside' && <OutsideBroker now={now} />}
      {now?.broker === 'inside' && (
        <>
          <form class="fields" onSubmit={(event) => void add(event)}>
            <label for="phone-name">
              Name of the phone
              <input
                id="phone-name"
                required
                pattern="[A-Za-z0-9][A-Za-z0-9._\-]{0,39}"
                title="letters, digits, . _ and -"
                autocomplete="off"
                value={name}
                onInput={(event) => setName(event.currentTarget.value)}
              />
            </label>
            {!now.is_open && (
              <label class="phone-open">
                <input type="checkbox" required checked={mayOpen} onChange={() => setMayOpen(!mayOpen)} />
                Open the broker to the home network, port {now.port}. No one gets in from there without a user and a
                password.
              </label>
            )}
            <button type="submit" class="primary">
              Add phone
            </button>
          </form>
          {added !== undefined && <PhoneAdded key={added.user} added={added} changed={() => void look()} />}
          <ul class="phones">
            {now.phones.map((phone) => (
              <li key={phone.name}>
                <b>{phone.name}</b>{' '}
                {phone.is_subscribed ? 'listens' : phone.is_connected ? 'connected, not subscribed' : 'not connected'}
                <button type="button" onClick={() => void remove(phone.name)}>
                  Remove {phone.name}
                </button>
              </li>
            ))}
          </ul>
          {now.is_open && (
            <div class="buttons">
              <button type="button" onClick={() => void close()}>
                Close the broker to the home network
              </button>
            </div>
          )}
        </>
      )}
    </main>
  );
}

/** The hub makes no user at a broker that is another program, nor sees who is there. */
function OutsideBroker({ now }: { now: Now }) {
  return (
    <>
      <p>
        The broker at {now.hosts[0]}, port {now.port}
        {now.tls ? ', TLS' : ''}, is outside the hub: make a user for the phone there. The phone subscribes to{' '}
        <code>{now.topic}</code> with QoS 1.
      </p>
      <p>For mosquitto, with the phone's name for NAME:</p>
      <pre class="phone-rules">
        {[
          'mosquitto_passwd /etc/mosquitto/passwd NAME',
          '',
          '# in its acl_file',
          ...outsideBrokerRules('NAME', now.topic),
        ].join('\n')}
      </pre>
    </>
  );
}
