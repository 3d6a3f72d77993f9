import fc from 'fast-check';
import { expect, it } from 'vitest';
import { recordedProbes, recordedReadings } from '#hub/flow/pipeline/recorded-probes.ts';
import { answerOf } from '#hub/reports/advise/answer.ts';
import { openDiary } from '#hub/reports/advise/diary.ts';
import { type DiaryEntry, diaryLineFrom } from '#hub/reports/advise/diary-lines.ts';
import { openPaperRoom, type PaperRoom, paperConfig } from '../../judgement/estimate/paper-room.ts';

const number = (min: number, max: number) => fc.double({ min, max, noNaN: true });
const deed = fc.oneof(
  {
    weight: 5,
    arbitrary: fc.record({ kind: fc.constant('test'), analyte: fc.constant('alkalinity'), value: number(7, 9) }),
  },
  fc.record({ kind: fc.constant('test'), analyte: fc.constant('calcium'), value: number(390, 460) }),
  fc.record({ kind: fc.constant('dose'), stock: fc.constantFrom('soda', 'chloride'), ml: number(1, 150) }),
  fc.record({ kind: fc.constant('water_change'), volume_l: number(5, 100), alkalinity_dkh: number(6, 10) }),
  fc.record({ kind: fc.constant('plan'), stock: fc.constantFrom('soda', 'chloride'), ml_per_day: number(0, 200) }),
  fc.record({ kind: fc.constant('refill'), stock: fc.constant('soda') }),
  fc.record({ kind: fc.constant('arrival') }),
  fc.record({ kind: fc.constant('reading'), metric: fc.constant('temperature'), value: number(22, 29) }),
  fc.record({ kind: fc.constant('reading'), metric: fc.constant('ph'), value: number(7.6, 8.7) }),
  {
    weight: 2,
    arbitrary: fc.record({ kind: fc.constant('reading'), metric: fc.constant('salinity'), value: number(33, 37) }),
  },
);
const diary = fc.array(fc.record({ deed, waitMinutes: fc.nat({ max: 1500 }) }), { minLength: 15, maxLength: 30 });

/** As the running hub takes it, over its store on disk. */
function enterLive(room: PaperRoom, probes: ReturnType<typeof recordedProbes>, entry: DiaryEntry): void {
  const { kind, time: _time, confirmed: _confirmed, ...body } = entry;
  switch (kind) {
    case 'test':
      return void room.entries.test({ ...(body as DiaryEntry & { kind: 'test' }), confirmed: true }, room.now());
    case 'dose':
      return void room.entries.dose(body, room.now());
    case 'plan':
      return void room.entries.plan(body as DiaryEntry & { kind: 'plan' }, room.now());
    case 'water_change':
      return void room.entries.waterChange(body as DiaryEntry & { kind: 'water_change' }, room.now());
    case 'refill':
      return void room.entries.refill(body as DiaryEntry & { kind: 'refill' }, room.now());
    case 'arrival':
      room.commit('arrival', room.now(), { event: 'arrived', pieces: [] });
      break;
    case 'reading': {
      const { metric, value } = entry;
      const probe = probes.of('display', metric);
      if (typeof probe !== 'string') room.store.add(recordedReadings(probe, value, room.now()));
    }
  }
}

it('the advice over a diary is other advice than the running hub gave', () => {
  fc.assert(
    fc.property(diary, (written) => {
      const room = openPaperRoom();
      const offline = openDiary(paperConfig);
      const probes = recordedProbes(paperConfig);
      const [system] = paperConfig.systems;
      try {
        for (const { deed: each, waitMinutes } of written) {
          room.pass(waitMinutes);
          const time = new Date(room.now()).toISOString();
          const line = diaryLineFrom(JSON.stringify({ time, system: 'display', ...each }));
          if (line.is !== 'entry') throw new Error(JSON.stringify(line));
          enterLive(room, probes, line.entry);
          offline.enter(line.entry);
          const answer = offline.ask('display', room.now());
          room.estimator.refresh('display');
          const live = answerOf(room.estimator, system!, room.now());
          expect(answer).toEqual(live);
        }
      } finally {
        room.close();
      }
    }),
    { numRuns: 4, seed: 16 },
  );
});
