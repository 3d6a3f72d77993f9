import { dayMs } from '../clock/durations.ts';
import { defined } from '../plain-data/defined.ts';
import type { Metric } from '../quantity/metric.ts';
import type { ContainerEvidence, DemandEvidence, DoseEvidence, ForecastEvidence, TestEvidence } from './evidence.ts';
import { withReport } from './kinds/demand-changed.ts';
import type { Asked, OtherAlarm } from './kinds/kind.ts';
import { type OtherName, otherAlarms, otherNames } from './kinds/list.ts';
import { feedRoomAlarm } from './room-alarm.ts';
import { analyteOf, type RoomIndex } from './room-index.ts';
import { planOf } from './room-rules.ts';

/** What tests, doses and the estimator say is remembered, and handed to the kinds that judge by it. */

/** What no rule looks back beyond: tests, days of doses, doses. Chosen here: a machine that doses each hour keeps three weeks. */
const mostTests = 12;
const dosesKeptMs = 14 * dayMs;
const mostDoses = 500;

type Each = OtherAlarm['judge']['each'];
type JudgeOf<Kind extends Each> = Extract<OtherAlarm['judge'], { each: Kind }>;

const judges = {
  test: judgesOf('test'),
  demand: judgesOf('demand'),
  forecast: judgesOf('forecast'),
  container: judgesOf('container'),
  hour: judgesOf('hour'),
};

function judgesOf<Kind extends Each>(each: Kind): { name: OtherName; judge: JudgeOf<Kind> }[] {
  return otherNames
    .filter((name) => otherAlarms[name].alarm.judge.each === each)
    .map((name) => ({ name, judge: otherAlarms[name].alarm.judge as JudgeOf<Kind> }));
}

/** What a kind is asked about a metric; undefined where its rule is off or the system is unknown. */
function askedOf(room: RoomIndex, name: OtherName, system: string, metric: Metric): Asked | undefined {
  const watched = room.rules.systems.get(system);
  const plan = planOf(room.rules, system, metric);
  const settings = plan?.other[name];
  return watched && plan && settings && { room, system: watched, plan, settings };
}

/** A test by hand: judged against the band at once, and the doses before it against what it shows. */
export function stepTest(room: RoomIndex, test: TestEvidence): void {
  const { system, analyte: metric } = test;
  const analyte = analyteOf(room, system, metric);
  if (analyte === undefined) return;
  const known = { timeMs: test.timeMs, value: test.value, ...defined({ sd: test.sd }) };
  analyte.tests = [...analyte.tests, known].sort((a, b) => a.timeMs - b.timeMs).slice(-mostTests);
  // A test entered late, older than one already known, says nothing about now.
  if (analyte.tests.at(-1) !== known) return;
  for (const { name, judge } of judges.test) {
    const asked = askedOf(room, name, system, metric);
    if (asked) feedRoomAlarm(room, name, asked.settings, { system, metric }, judge.of({ ...asked, analyte }));
  }
}

/** A dose: remembered until a test can show whether it arrived. */
export function stepDose(room: RoomIndex, dose: DoseEvidence): void {
  if (dose.analyteRaised === undefined || dose.raisesBy === undefined) return;
  const analyte = analyteOf(room, dose.system, dose.analyteRaised);
  if (analyte === undefined) return;
  analyte.doses = [...analyte.doses, { timeMs: dose.timeMs, raisesBy: dose.raisesBy }]
    .filter(({ timeMs }) => dose.timeMs - timeMs <= dosesKeptMs)
    .sort((a, b) => a.timeMs - b.timeMs)
    .slice(-mostDoses);
}

/** A new estimate of the demand. */
export function stepDemand(room: RoomIndex, demand: DemandEvidence): void {
  const { system } = demand;
  const analyte = analyteOf(room, system, demand.analyte);
  if (analyte === undefined) return;
  const timeMs = demand.timeMs ?? room.nowMs;
  analyte.demand = withReport(analyte.demand, { timeMs, perDay: demand.demandPerDay, sd: demand.sd });
  for (const { name, judge } of judges.demand) {
    const metric = judge.about ?? demand.analyte;
    const asked = askedOf(room, name, system, metric);
    if (asked) feedRoomAlarm(room, name, asked.settings, { system, metric }, judge.of({ ...asked, analyte }));
  }
}

/** What the estimator expects of a metric. */
export function stepForecast(room: RoomIndex, forecast: ForecastEvidence): void {
  const { system, metric, hoursToLeave, probability, side } = forecast;
  const analyte = analyteOf(room, system, metric);
  if (analyte === undefined) return;
  analyte.forecastMs = room.nowMs;
  analyte.forecast = { hoursToLeave: hoursToLeave ?? null, probability, side: side ?? null };
  for (const { name, judge } of judges.forecast) {
    const asked = askedOf(room, name, system, metric);
    const judged = asked && judge.of({ ...asked, forecast });
    if (asked && judged) feedRoomAlarm(room, name, asked.settings, { system, metric }, judged);
  }
}

/** How long a container lasts. */
export function stepContainer(room: RoomIndex, container: ContainerEvidence): void {
  const system = room.rules.systems.get(container.system);
  if (system === undefined) return;
  for (const { name, judge } of judges.container) {
    const settings = room.rules.ofSystems.get(system.id)?.[name];
    if (settings === undefined) continue;
    feedRoomAlarm(
      room,
      name,
      settings,
      { system: system.id, metric: '' },
      judge.of({ room, system, settings, container }),
    );
  }
}

/** Judges what people do every so many days. */
export function judgeHour(room: RoomIndex): void {
  for (const [system, plans] of room.rules.plans) {
    for (const { metric } of plans.values()) {
      for (const { name, judge } of judges.hour) {
        const asked = askedOf(room, name, system, metric);
        if (asked === undefined) continue;
        for (const judged of judge.of(asked)) feedRoomAlarm(room, name, asked.settings, { system, metric }, judged);
      }
    }
  }
}
