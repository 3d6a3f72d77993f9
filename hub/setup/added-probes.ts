import { isSeq, parseDocument } from 'yaml';
import type { FirstLook } from '#adapters/ports/first-look.ts';
import { defined } from '#rules/plain-data/defined.ts';
import type { Config } from '../model/config/schema.ts';
import type { Answers } from './answers.ts';
import { choose, ofThisTank } from './choose-probes.ts';
import { portItems, probeItems } from './config-text.ts';
import type { SetupTimes } from './first-configuration.ts';
import { type FoundPort, type FoundProbe, probeIds } from './found-probes.ts';
import { isBrokerHere, listenToBroker, listenToPorts } from './listen.ts';
import type { Questions, Talk } from './questions.ts';

/**
 * Listens again and puts probes that are not in a configuration yet at the end of its list. Its remarks stay.
 *
 * Is not: able to add a column to a port that is configured as CSV, whose columns stand in the file by their order.
 *
 * @param path  of the file; `text` is what it holds, `password` that of the broker outside
 * @returns the whole text; undefined when nothing was added
 */
export async function withAddedProbes(
  { path, config, text, password }: { path: string; config: Config; text: string; password: string | undefined },
  answers: Answers,
  times: SetupTimes,
  look: FirstLook,
  questions: Questions,
  terminal: Talk,
): Promise<string | undefined> {
  const ids = config.systems.map(({ id }) => id);
  const systemId =
    answers.system ??
    (await questions.ask(
      `Which system: ${ids.join(', ')}`,
      (given) => (ids.includes(given) ? given : undefined),
      ids.join(', '),
      ids.length === 1 ? ids[0] : undefined,
    ));
  const systemName = config.systems.find(({ id }) => id === systemId)?.name ?? systemId;
  const say = (line: string) => terminal.print(`  ${line}`);
  terminal.print('Listening on the serial ports …');
  const found = await listenToPorts(look, answers.ports, times.secondsForEachSpeed, say);
  const ports = found.ports.map((port) => named(port, config));
  const fromPorts = found.probes.flatMap((probe): FoundProbe[] => {
    const port = probe.by === 'serial' ? ports.find(({ heardAs }) => heardAs === probe.portId) : undefined;
    if (probe.by !== 'serial' || port === undefined || (port.isKnown && port.speech.format === 'csv')) return [];
    return [{ ...probe, portId: port.id }];
  });
  const probes = [...fromPorts, ...(await fromBroker())].filter((probe) => !isConfigured(probe, config));
  const chosen = await choose(probes, answers.probes, questions, terminal);
  if (chosen.length === 0) return undefined;

  const used = ports.filter(
    ({ id, isKnown }) => !isKnown && chosen.some((probe) => probe.by === 'serial' && probe.portId === id),
  );
  const temperature = config.probes.find(({ system, metric }) => system === systemId && metric === 'temperature')?.id;
  const taken = config.probes.map(({ id }) => id);
  return withItems(text, {
    serial: portItems(used),
    probes: probeItems(systemId, chosen, probeIds(systemId, chosen, taken), temperature),
  });

  async function fromBroker(): Promise<FoundProbe[]> {
    const { url, username, ca_file: caFile, prefix } = config.mqtt;
    // Inside the hub it is there only while the hub runs.
    if (url === undefined && !(await isBrokerHere(config.broker.port))) {
      say(
        `The hub's own broker is not running. For a probe that sends over MQTT, start the hub, then run again: brinekeep setup ${path} --add`,
      );
      return [];
    }
    const at = {
      broker_url: url ?? `mqtt://127.0.0.1:${config.broker.port}`,
      ...defined({ broker_username: username, password, broker_ca_file: caFile }),
    };
    terminal.print(`Listening to the broker for ${times.brokerSeconds} seconds …`);
    const heard = await listenToBroker(
      look,
      { ...at, ...answers, broker_url: at.broker_url },
      times.brokerSeconds,
      say,
      prefix,
    );
    // Which place it is of is asked only for what is new.
    const unknown = heard.filter((probe) => !isConfigured(probe, config));
    return ofThisTank(unknown, answers, systemName, questions, terminal);
  }
}

type NamedPort = FoundPort & { heardAs: string; isKnown: boolean };

/** Under the id that the configuration gives to it; a new one under an id that is free there. */
function named(port: FoundPort, config: Config): NamedPort {
  const known = config.serial.find(({ path }) => path === port.path || path === port.device);
  if (known !== undefined) return { ...port, id: known.id, heardAs: port.id, isKnown: true };
  const taken = new Set(config.serial.map(({ id }) => id));
  const id = taken.has(port.id) ? `${port.id}-${taken.size + 1}` : port.id;
  return { ...port, id, heardAs: port.id, isKnown: false };
}

function isConfigured(probe: FoundProbe, config: Config): boolean {
  return config.probes.some(({ serial, mqtt }) =>
    probe.by === 'serial'
      ? serial?.port === probe.portId && serial.channel === probe.channel
      : mqtt?.topic === probe.topic && (mqtt.channel ?? '') === probe.channel,
  );
}

/** The text with items at the end of its lists. */
function withItems(text: string, added: Readonly<Record<'serial' | 'probes', readonly string[]>>): string {
  const document = parseDocument(text, { keepSourceTokens: true });
  for (const [key, lines] of Object.entries(added)) {
    const items = parseDocument(lines.join('\n')).contents;
    if (lines.length === 0 || !isSeq(items)) continue;
    const list = document.getIn([key]);
    if (!isSeq(list)) document.setIn([key], items);
    else for (const item of items.items) list.add(item);
  }
  return document.toString({ lineWidth: 0, flowCollectionPadding: /\{ \S/.test(text) });
}
