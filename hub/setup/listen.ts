import { readFileSync } from 'node:fs';
import { connect } from 'node:net';
import type { BrokerToHear, FirstLook } from '#adapters/ports/first-look.ts';
import { defined } from '#rules/plain-data/defined.ts';
import type { Answers } from './answers.ts';
import { type FoundPort, type FoundProbe, foundPort, probesOfPort, probesOfTopic } from './found-probes.ts';

export type Found = { ports: FoundPort[]; probes: FoundProbe[] };

/** Every serial port in turn; `tell` hears of each what was found. */
export async function listenToPorts(
  look: FirstLook,
  only: readonly string[] | undefined,
  secondsForEachSpeed: number,
  tell: (line: string) => void,
): Promise<Found> {
  const ports = await look.ports(only);
  if (ports.length === 0) tell('No serial port was found.');
  const found: Found = { ports: [], probes: [] };
  // At once: each has its own line, and the silent ones take longest.
  const heard = await Promise.all(ports.map((port) => look.hearPort(port, secondsForEachSpeed)));
  for (const [index, each] of heard.entries()) {
    const port = foundPort(each, index);
    if (port === undefined) {
      tell(`${each.path}: ${each.silence ?? 'no data received'}`);
      continue;
    }
    const probes = probesOfPort(port);
    tell(`${port.path}: ${port.speech.format} at ${port.speech.baud} baud, called ${port.id}`);
    if (probes.length === 0) continue;
    found.ports.push(port);
    found.probes.push(...probes);
  }
  return found;
}

/** A broker as the answers name it; `password` is known where it is not in a file. */
type AtBroker = Answers & { broker_url: string; password?: string };

/**
 * What a broker carries. One that cannot be reached is told of, and is no reason to stop.
 *
 * @param ownPrefix  what is below it the hub says itself
 */
export async function listenToBroker(
  look: FirstLook,
  answers: AtBroker,
  seconds: number,
  tell: (line: string) => void,
  ownPrefix = 'brinekeep',
): Promise<FoundProbe[]> {
  try {
    const topics = await look.hearBroker(brokerToHear(answers), seconds);
    const probes = topics.flatMap((topic) => probesOfTopic(topic, ownPrefix));
    tell(`${answers.broker_url}: ${topics.length} topics with numbers, ${probes.length} of them likely probes`);
    return probes;
  } catch (error) {
    tell(`No answer from the broker: ${error instanceof Error ? error.message : String(error)}`);
    return [];
  }
}

function brokerToHear(answers: AtBroker): BrokerToHear {
  const { password, broker_username: username, broker_password_file: passwordFile, broker_ca_file: caFile } = answers;
  return {
    url: answers.broker_url,
    ...defined({ username, password }),
    ...(passwordFile === undefined ? {} : { password: readFileSync(passwordFile, 'utf8').replace(/\r?\n$/, '') }),
    ...(caFile === undefined ? {} : { ca: readFileSync(caFile) }),
  };
}

/** True when something already listens where a broker of this machine would. */
export function isBrokerHere(port: number): Promise<boolean> {
  return new Promise((resolve) => {
    const socket = connect({ port, host: '127.0.0.1', timeout: 1000 });
    const answer = (isHere: boolean) => {
      socket.destroy();
      resolve(isHere);
    };
    socket.once('connect', () => answer(true));
    socket.once('timeout', () => answer(false));
    socket.once('error', () => answer(false));
  });
}
