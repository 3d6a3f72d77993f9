import type { Store } from '#adapters/ports/store.ts';
import { dayMs } from '#rules/clock/durations.ts';
import { defined } from '#rules/plain-data/defined.ts';
import { type DemandAnalyte, demandAnalytes } from '#rules/trend/demand-facts.ts';
import type { DatedDemandEvidence } from '#rules/trend/demand-track.ts';
import {
  isStatedVolumeOff,
  type LearnedVolume,
  learnedVolume,
  logEvidenceOfVolume,
  nextVolumeToWeigh,
  type WeighedVolume,
} from '#rules/trend/learned-volume.ts';
import type { Config } from '../../model/config/schema.ts';
import type { SystemOverTime } from '../../model/config/system-at.ts';
import { readEntries } from './known-entries.ts';
import { demandEvidenceOf } from './known-facts.ts';
import { unhurried } from './unhurried.ts';
import { volumeWords } from './volume-words.ts';

/** Corals and kits of longer ago say nothing of today's doses. */
const historyDays = 120;
/** Fewer tests than this cannot tell a volume from a use. */
const leastTests = 8;

export type VolumeByDoses = LearnedVolume & { tests: number };

export type VolumeAnswer = {
  statedL: number;
  /** By all analytes together; absent while there are too few tests of any. */
  learned?: LearnedVolume;
  /** By each alone. */
  byAnalyte: Partial<Record<DemandAnalyte, VolumeByDoses>>;
  /** True when the stated volume does not fit by more than its doubt. */
  isOff: boolean;
  text: string;
};

export type VolumeLearner = {
  /** What doses and tests say of the volume; undefined for a system that is not there. Learned again after new entries. */
  of(system: string): Promise<VolumeAnswer | undefined>;
  /** What was last learned, at once. */
  lastOf(system: string): VolumeAnswer | undefined;
};

/**
 * Learns the true volume of each system. It takes the processor a second or more, so it rests between two volumes weighed: readings,
 * the page and the watchdog come between. No answer waits for it but that to the question itself.
 *
 * @param parts.config  with what held before, see `withPast`
 */
export function createVolumeLearner(parts: {
  config: Config;
  store: Pick<Store, 'journal'>;
  now(): number;
}): VolumeLearner {
  const answers = new Map<string, { mark: string; answer: VolumeAnswer }>();
  const running = new Map<string, Promise<VolumeAnswer>>();

  async function learn(system: SystemOverTime): Promise<VolumeAnswer> {
    const nowMs = parts.now();
    const entries = readEntries(parts.store, system.id, nowMs - historyDays * dayMs);
    const mark = `${entries.length} ${entries.reduce((last, { id }) => Math.max(last, id), 0)} ${Math.floor(nowMs / dayMs)}`;
    const known = answers.get(system.id);
    if (known?.mark === mark) return known.answer;
    const diaries = demandAnalytes.flatMap((analyte) => {
      const diary = demandEvidenceOf(ofOneVolume(system), analyte, entries, nowMs);
      const tests = diary.filter(({ evidence }) => evidence.is === 'test').length;
      return tests < leastTests ? [] : [{ analyte, diary, tests }];
    });
    const weighed = diaries.length === 0 ? [] : await weigh(diaries);
    const answer = answerOf(system.volume_l, weighed, diaries);
    answers.set(system.id, { mark, answer });
    return answer;
  }

  return {
    async of(systemId) {
      const system = parts.config.systems.find(({ id }) => id === systemId);
      if (system === undefined) return undefined;
      const begun = running.get(systemId) ?? learn(system).finally(() => running.delete(systemId));
      running.set(systemId, begun);
      return begun;
    },
    lastOf: (system) => answers.get(system)?.answer,
  };
}

type Diary = { analyte: DemandAnalyte; diary: readonly DatedDemandEvidence[]; tests: number };

async function weigh(diaries: readonly Diary[]): Promise<WeighedVolume[]> {
  const weighed: WeighedVolume[] = [];
  for (let at = nextVolumeToWeigh(weighed); at !== undefined; at = nextVolumeToWeigh(weighed)) {
    const logEvidence: WeighedVolume['logEvidence'] = {};
    for (const { analyte, diary } of diaries) {
      logEvidence[analyte] = await unhurried(() => logEvidenceOfVolume(analyte, diary, at));
    }
    weighed.push({ logRatio: at, logEvidence });
  }
  return weighed;
}

/** A corrected statement is no rebuilt tank: what was dosed before it is reckoned with the volume stated now. */
function ofOneVolume(system: SystemOverTime): SystemOverTime {
  if (system.past === undefined) return system;
  const past = system.past.map((held) => ({ ...held, system: { ...held.system, volume_l: system.volume_l } }));
  return { ...system, past };
}

function answerOf(statedL: number, weighed: readonly WeighedVolume[], diaries: readonly Diary[]): VolumeAnswer {
  const byAnalyte: VolumeAnswer['byAnalyte'] = {};
  for (const { analyte, tests } of weighed.length === 0 ? [] : diaries)
    byAnalyte[analyte] = { ...learnedVolume(weighed, analyte), tests };
  const learned = weighed.length === 0 ? undefined : learnedVolume(weighed);
  const isOff = learned !== undefined && isStatedVolumeOff(learned);
  return {
    statedL,
    byAnalyte,
    isOff,
    ...defined({ learned }),
    text: volumeWords(statedL, learned, byAnalyte, isOff),
  };
}
