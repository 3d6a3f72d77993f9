import { leastFloatMinutes } from './acclimation.ts';
import { dipCautions } from './arrival-cautions.ts';
import { leastTankShare, mostSoakMinutes } from './bath.ts';

/** A reagent as the protocol names it; its dose comes from the label, typed in by the keeper. */
export type ProtocolReagent = { name: string; dose_mL_L: number; label?: { low_mL_L: number; high_mL_L: number } };

/** What a keeper does, one after the other. Minutes make a timer. */
export type ProtocolStep =
  /** Closed bags on the tank's surface, 60 to 240 minutes. */
  | { kind: 'float'; minutes: number }
  /** By acclimationPlan: exchanges of tank water. */
  | { kind: 'acclimate'; minutes: number }
  /** Make the bath: at least half from the tank. */
  | { kind: 'dip_bath'; tankShare: number; reagents: readonly ProtocolReagent[] }
  /** In the dip bath, above 0 up to 10 minutes; `mostMinutes` (10 unless given) is when it calls again, louder. */
  | { kind: 'soak'; minutes: number; mostMinutes?: number }
  | { kind: 'swirl_and_rinse_off' }
  /** In fresh salt water. */
  | { kind: 'rinse_bath'; minutes?: number }
  | { kind: 'new_plug' }
  /** Findings are written down at this step. */
  | { kind: 'inspection' }
  | { kind: 'placement' };

export type ProtocolStepKind = ProtocolStep['kind'];

/** Plain data, as it is written in a protocol's file. */
export type Protocol = { id: string; name: string; steps: readonly ProtocolStep[] };

/** What is wrong with a protocol: the step by its place, the first being 0; none for the protocol as a whole. */
export type ProtocolFault = {
  step?: number;
  fault:
    | 'no_steps'
    | 'too_many_steps'
    | 'float_too_short'
    | 'minutes_out_of_range'
    | 'soak_over_maximum'
    | 'soak_without_bath'
    | 'tank_share_under_half'
    | 'no_rinse_after_soak';
  text: string;
};

/** More than any arrival has; a file that loops is refused. Chosen here. */
const mostSteps = 40;
/** Longest timer of a step other than a soak, minutes. */
const longestMinutes = 240;

/** Everything that is wrong with a protocol, so that all of it can be mended at once. Empty: it may be run. */
export function protocolFaults(protocol: Protocol): ProtocolFault[] {
  const faults: ProtocolFault[] = [];
  const { steps } = protocol;
  if (steps.length === 0) faults.push({ fault: 'no_steps', text: 'It has no steps.' });
  if (steps.length > mostSteps) {
    faults.push({ fault: 'too_many_steps', text: `It has ${steps.length} steps, allowed: up to ${mostSteps}.` });
  }
  for (const [step, each] of steps.entries()) {
    const say = (fault: ProtocolFault['fault'], text: string) => faults.push({ step, fault, text });
    if (each.kind === 'dip_bath' && !(each.tankShare >= leastTankShare && each.tankShare <= 1)) {
      say('tank_share_under_half', `The tank's share is ${each.tankShare}, allowed: ${leastTankShare} to 1.`);
    }
    if (each.kind === 'soak') {
      const most = each.mostMinutes ?? mostSoakMinutes;
      if (!(each.minutes > 0 && each.minutes <= most && most <= mostSoakMinutes)) {
        const found = `A soak of ${each.minutes} minutes with a maximum of ${most}`;
        say(
          'soak_over_maximum',
          `${found}, allowed: above 0, at most ${mostSoakMinutes}, and not over its own maximum.`,
        );
      }
      if (!steps.slice(0, step).some(({ kind }) => kind === 'dip_bath')) {
        say('soak_without_bath', 'A soak needs a dip bath before it.');
      }
      const after = steps.slice(step + 1);
      if (!after.some(({ kind }) => kind === 'rinse_bath' || kind === 'swirl_and_rinse_off')) {
        say('no_rinse_after_soak', 'Nothing rinses the pieces after this soak.');
      }
    } else if ('minutes' in each && each.minutes !== undefined) {
      if (!(each.minutes > 0 && each.minutes <= longestMinutes)) {
        say('minutes_out_of_range', `Its minutes are ${each.minutes}, allowed: above 0, at most ${longestMinutes}.`);
      } else if (each.kind === 'float' && each.minutes < leastFloatMinutes) {
        say('float_too_short', `Bags float for ${each.minutes} minutes, allowed: ${leastFloatMinutes} or more.`);
      }
    }
  }
  return faults;
}

const handling = dipCautions.filter((caution) => /gloves|palytoxin/.test(caution));

/** What to know at a step; empty where nothing can hurt. */
export function stepCautions(kind: ProtocolStepKind): readonly string[] {
  if (kind === 'dip_bath' || kind === 'soak') return dipCautions;
  if (kind === 'swirl_and_rinse_off' || kind === 'rinse_bath' || kind === 'new_plug' || kind === 'inspection') {
    return handling;
  }
  return [];
}
