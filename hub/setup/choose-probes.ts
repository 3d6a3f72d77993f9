import { metricFacts } from '#rules/quantity/metric.ts';
import type { Answers } from './answers.ts';
import { type FoundProbe, wordsOf } from './found-probes.ts';
import type { Questions, Talk } from './questions.ts';

/**
 * A broker that stands in the house carries other tanks too: what comes from one place is taken only when somebody says that it
 * is of this tank, on the flags or when asked.
 */
export async function ofThisTank(
  heard: readonly FoundProbe[],
  { broker_topics: given, probes: without }: Answers,
  systemName: string,
  questions: Questions,
  terminal: Talk,
): Promise<FoundProbe[]> {
  const taken: FoundProbe[] = [];
  for (const place of new Set(heard.map(placeOf))) {
    const probes = heard.filter((probe) => placeOf(probe) === place);
    const isNobodyAsked = given !== undefined || without !== undefined;
    const isOurs = isNobodyAsked
      ? (given ?? []).some((beginning) => isBelow(place, beginning))
      : await questions.confirm(`Does ${place} belong to ${systemName}? It sends ${namesOf(probes)}`, false);
    if (isOurs) taken.push(...probes);
    else if (isNobodyAsked)
      terminal.print(`  left out: ${place} with ${namesOf(probes)}. If it belongs to this tank: --topics ${place}`);
  }
  return taken;
}

/** All levels of the topic but the last, which names the quantity. */
function placeOf(probe: FoundProbe): string {
  const topic = probe.by === 'mqtt' ? probe.topic : '';
  return topic.includes('/') ? topic.slice(0, topic.lastIndexOf('/')) : topic;
}

function isBelow(place: string, beginning: string): boolean {
  const whole = beginning.replace(/\/+#?$/, '');
  return place === whole || place.startsWith(`${whole}/`);
}

const namesOf = (probes: readonly FoundProbe[]) =>
  probes.map(({ guess }) => metricFacts[guess.metric].label).join(', ');

/** Each by name with its live value. A guess by value alone is taken only by a person who says yes. */
export async function choose(
  probes: readonly FoundProbe[],
  without: Answers['probes'],
  questions: Questions,
  terminal: Talk,
): Promise<FoundProbe[]> {
  const chosen: FoundProbe[] = [];
  for (const probe of probes) {
    const isNamed = probe.guess.by === 'name';
    const isTaken =
      without === undefined
        ? await questions.confirm(`Use ${wordsOf(probe)}`, isNamed)
        : without === 'all' || (without === 'named' && isNamed);
    if (without !== undefined) terminal.print(`  ${isTaken ? 'used' : 'left out'}: ${wordsOf(probe)}`);
    if (isTaken) chosen.push(probe);
  }
  return chosen;
}
