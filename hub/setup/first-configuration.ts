import type { FirstLook } from '#adapters/ports/first-look.ts';
import { defined } from '#rules/plain-data/defined.ts';
import { type Answers, answersSchema, idFromName } from './answers.ts';
import { choose, ofThisTank } from './choose-probes.ts';
import { configText } from './config-text.ts';
import { isBrokerHere, listenToBroker, listenToPorts } from './listen.ts';
import type { Questions, Talk } from './questions.ts';
import { type Livestock, livestock, livestockWords } from './stock-bands.ts';

export type SetupTimes = { secondsForEachSpeed: number; brokerSeconds: number };

const usualBrokerPort = 1883;

/**
 * Looks and listens around, asks what cannot be heard, and gives the text of a first configuration.
 *
 * @param answers  given beforehand; what is in there is not asked for
 * @throws NoAnswer  when something must be known and nobody says it
 */
export async function firstConfiguration(
  answers: Answers,
  dataDir: string,
  times: SetupTimes,
  look: FirstLook,
  questions: Questions,
  terminal: Talk,
): Promise<string> {
  const { ask } = questions;
  /** The answer given beforehand, else the one of the person; both by the same schema. */
  async function answer<Key extends keyof Answers>(
    key: Key,
    question: string,
    help: string,
    otherwise?: string,
    read: (text: string) => unknown = (text) => text,
  ): Promise<NonNullable<Answers[Key]>> {
    const given = answers[key];
    if (given !== undefined) return given as NonNullable<Answers[Key]>;
    const parse = (text: string) => {
      const parsed = answersSchema.safeParse({ [key]: read(text) });
      return parsed.success ? (parsed.data[key] as NonNullable<Answers[Key]> | undefined) : undefined;
    };
    return await ask(question, parse, help, otherwise);
  }

  const siteName = await answer('site_name', 'Name of the place', 'at most 60 characters', 'Fish room');
  const here = Intl.DateTimeFormat().resolvedOptions().timeZone;
  const timezone = await answer('timezone', 'Time zone', 'an IANA zone such as Europe/Lisbon', here);
  const systemName = await answer('system_name', 'Name of the tank', 'at most 60 characters', 'Display tank');
  const volumeL = await answer(
    'volume_l',
    'Net water volume, without rock and sand, in litres',
    '1 litre or more, such as 420',
    undefined,
    Number,
  );
  const kinds = livestock.map((kind) => `${kind} (${livestockWords[kind]})`).join(', ');
  const lives: Livestock = await answer('livestock', `What lives in it: ${kinds}`, livestock.join(', '), 'stony');

  const isHere = answers.broker_url === undefined && (await isBrokerHere(answers.broker_port ?? usualBrokerPort));
  const brokerUrl = await answer(
    'broker_url',
    `MQTT broker, such as mqtt://192.0.2.7:1883; - for the hub's own`,
    'a URL that begins with mqtt:// or mqtts://, or -',
    isHere ? `mqtt://127.0.0.1:${answers.broker_port ?? usualBrokerPort}` : '-',
    (text) => (text === '-' ? '' : text),
  );

  terminal.print('Listening on the serial ports …');
  const say = (line: string) => terminal.print(`  ${line}`);
  const found = await listenToPorts(look, answers.ports, times.secondsForEachSpeed, say);
  const probes = [...found.probes];
  if (brokerUrl !== '') {
    terminal.print(`Listening to the broker for ${times.brokerSeconds} seconds …`);
    const heard = await listenToBroker(look, { ...answers, broker_url: brokerUrl }, times.brokerSeconds, say);
    probes.push(...(await ofThisTank(heard, answers, systemName, questions, terminal)));
  }
  const chosen = await choose(probes, answers.probes, questions, terminal);
  const usedPorts = found.ports.filter(({ id }) =>
    chosen.some((probe) => probe.by === 'serial' && probe.portId === id),
  );
  const { broker_username: username, broker_password_file: passwordFile, broker_ca_file: caFile } = answers;
  return configText({
    siteName,
    timezone,
    systemName,
    volumeL,
    dataDir,
    livestock: lives,
    systemId: idFromName(systemName),
    httpPort: answers.http_port ?? 8740,
    broker:
      brokerUrl === ''
        ? { own: true, port: answers.broker_port ?? usualBrokerPort }
        : {
            own: false,
            url: brokerUrl,
            ...defined({ username, passwordFile, caFile }),
          },
    ports: usedPorts,
    probes: chosen,
  });
}
