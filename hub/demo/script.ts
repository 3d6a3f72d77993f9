import { handTest, type TestedAnalyte } from './hand-work.ts';
import { type Given, keepersDay } from './keepers-day.ts';
import { calmPace, type DemoRoom, type Fault, type Pace, type Remedy, type SystemState } from './reef-system.ts';
import { stepRoom, systemOf, withSystem } from './room.ts';
import type { Random } from './seeded-random.ts';
import { salinityOf } from './water.ts';

/**
 * What happens in the room while somebody watches: a calm start in real time, then one scene after another in which
 * something breaks and is mended. Only heat and water level of the system concerned are hurried, and only during its
 * scene; lamps, corals and room air keep to the clock. Day cycles therefore stay in step with the clock of the hub.
 */

/** Simulated seconds for each second of the clock, in a scene of factor 1. */
export const usualSpeed = 28;

/** The calm before the first scene and between two scenes, s. */
const firstSceneAfterS = 45;
const pauseS = 90;

type Scene = {
  system: string;
  fault: Fault;
  /** What is hurried, and by which share of the speed until it is found and after that. */
  hurries: keyof Pace;
  paceShare: { wrong: number; mending: number };
  wrong: string;
  /** The moment at which the simulated keeper has come and mends it. */
  isFound: (system: SystemState) => boolean;
  remedy?: Remedy;
  mended: string;
  isOver: (system: SystemState) => boolean;
  over: string;
};

const scenes: readonly Scene[] = [
  {
    system: 'display',
    fault: 'heater_stuck_on',
    hurries: 'heat',
    paceShare: { wrong: 1, mending: 1 },
    wrong: 'The contact of the display heater has welded: it heats without end.',
    isFound: ({ water }) => water.temperature_C >= 26.4,
    remedy: 'fan_on',
    mended: 'The keeper has pulled the heater out of its socket and put a fan over the water.',
    isOver: ({ water, setup }) => water.temperature_C <= setup.setpoint_C,
    over: 'The display is back at its temperature, with a spare heater.',
  },
  {
    system: 'quarantine',
    fault: 'top_off_stuck_open',
    hurries: 'level',
    paceShare: { wrong: 0.1, mending: 0.1 },
    wrong: 'The float of the quarantine has stuck: its top-off pours fresh water without end.',
    isFound: ({ water }) => salinityOf(water) <= 33.3,
    remedy: 'salt_restored',
    mended: 'The keeper has freed the float and exchanges diluted water for strong salt water.',
    isOver: ({ water, setup }) => salinityOf(water) >= setup.start.salinity,
    over: 'The quarantine has its salinity again.',
  },
  {
    system: 'growout',
    fault: 'top_off_stopped',
    hurries: 'level',
    // The reservoir refills in minutes what took hours to go: hurried alike, the jump would pass for a broken probe.
    paceShare: { wrong: 8, mending: 0.2 },
    wrong: 'The top-off reservoir of the grow-out is empty: evaporation concentrates the water.',
    isFound: ({ water }) => salinityOf(water) >= 36,
    mended: 'The keeper has filled the reservoir; fresh water flows again.',
    isOver: ({ water, isTopOffOn }) => !isTopOffOn && salinityOf(water) < 35.6,
    over: 'The grow-out has its level and salinity again.',
  },
];

/** Tests that the keeper makes while the demonstration runs. */
const tests: readonly { atS: number; system: string; analyte: TestedAnalyte }[] = [
  { atS: 30, system: 'display', analyte: 'alkalinity' },
  { atS: 40, system: 'display', analyte: 'calcium' },
  { atS: 240, system: 'growout', analyte: 'alkalinity' },
  { atS: 255, system: 'growout', analyte: 'calcium' },
  { atS: 300, system: 'quarantine', analyte: 'alkalinity' },
];

export type DemoEvent = { kind: 'said'; system: string; text: string } | { kind: 'entered'; given: Given };

export type Play = {
  room: DemoRoom;
  elapsedS: number;
  /** Index in `scenes`; their number when all are over. */
  scene: number;
  phase: 'calm' | 'wrong' | 'mending';
  nextSceneAtS: number;
};

/** The play before its first step. */
export function openingOf(room: DemoRoom): Play {
  return { room, elapsedS: 0, scene: 0, phase: 'calm', nextSceneAtS: firstSceneAfterS };
}

/**
 * The play a moment later, with what happened in it.
 *
 * @param seconds  of the real clock since the last step
 * @param speed  simulated seconds of a hurried water for each real second, 1 or more
 */
export function stepPlay(
  play: Play,
  seconds: number,
  speed: number,
  random: Random,
): { play: Play; events: DemoEvent[] } {
  const elapsedS = play.elapsedS + seconds;
  const { room, given } = keepersDay(play.room, stepRoom(play.room, seconds, random), random);
  const due = tests.filter((test) => test.atS > play.elapsedS && test.atS <= elapsedS);
  const tested = due.map(({ system, analyte }): Given => {
    return { kind: 'test', entry: handTest(systemOf(room, system), analyte, room.timeMs, random) };
  });
  const entered = [...tested, ...given].map((each): DemoEvent => ({ kind: 'entered', given: each }));
  const directed = direct({ ...play, room, elapsedS }, speed);
  return { play: directed.play, events: [...entered, ...directed.events] };
}

function direct(play: Play, speed: number): { play: Play; events: DemoEvent[] } {
  const scene = scenes[play.scene];
  if (scene === undefined) return { play, events: [] };
  const said = (text: string): DemoEvent[] => [{ kind: 'said', system: scene.system, text }];
  const changed = (change: Parameters<typeof withSystem>[2]) => withSystem(play.room, scene.system, change);
  const system = systemOf(play.room, scene.system);

  if (play.phase === 'calm' && play.elapsedS >= play.nextSceneAtS) {
    const pace = paceOf(scene, speed, 'wrong');
    return {
      play: { ...play, phase: 'wrong', room: changed({ faults: [scene.fault], pace }) },
      events: said(scene.wrong),
    };
  }
  if (play.phase === 'wrong' && scene.isFound(system)) {
    const remedies = scene.remedy === undefined ? [] : [scene.remedy];
    return {
      play: {
        ...play,
        phase: 'mending',
        room: changed({ faults: [], remedies, pace: paceOf(scene, speed, 'mending') }),
      },
      events: said(scene.mended),
    };
  }
  if (play.phase === 'mending' && scene.isOver(system)) {
    const room = changed({ remedies: [], pace: calmPace });
    const nextSceneAtS = play.elapsedS + pauseS;
    return { play: { ...play, phase: 'calm', scene: play.scene + 1, nextSceneAtS, room }, events: said(scene.over) };
  }
  return { play, events: [] };
}

function paceOf(scene: Scene, speed: number, phase: 'wrong' | 'mending'): Pace {
  return { ...calmPace, [scene.hurries]: Math.max(1, speed * scene.paceShare[phase]) };
}
