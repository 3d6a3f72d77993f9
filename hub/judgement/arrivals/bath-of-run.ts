import type { Store } from '#adapters/ports/store.ts';
import { type AcclimationPlan, acclimationPlan } from '#rules/arrivals/acclimation.ts';
import { bathWater, type DipBath, dipBath } from '#rules/arrivals/bath.ts';
import type { ChecklistRun } from '#rules/arrivals/checklist.ts';
import type { Protocol, ProtocolStep } from '#rules/arrivals/protocol.ts';
import {
  type AmmoniaInBag,
  ammoniaInBag,
  largeDifferences,
  type MeasuredWater,
  type ShockVerdict,
  shockBetween,
} from '#rules/arrivals/shock.ts';
import type { KeepersUnits } from '#rules/bands/watched-room.ts';
import { defined } from '#rules/plain-data/defined.ts';
import type { RunStart, ShockEntry } from '../../model/entries/arrival-schemas.ts';
import { reagentOf } from '../../model/entries/protocol-schema.ts';
import { orRefused, Refused } from '../../model/refusals/refused.ts';
import { feltWater } from '../water/water-now.ts';
import type { RunFacts } from './arrivals-state.ts';

type Sources = Pick<Store, 'series' | 'latest' | 'journal'>;

/** Litres of a dip bath whose size nobody gave. */
export const usualBathL = 2;

/** The protocol as this run does it: with the label's doses and time, which the keeper types in. */
export function protocolForRun(protocol: Protocol, { baths, soak_minutes }: RunStart): Protocol {
  let bath = -1;
  const steps = protocol.steps.map((step): ProtocolStep => {
    if (step.kind === 'dip_bath') {
      bath += 1;
      const given = baths[bath];
      return {
        ...step,
        ...defined({ tankShare: given?.tank_share }),
        ...(given?.reagents === undefined ? {} : { reagents: given.reagents.map(reagentOf) }),
      };
    }
    if (step.kind === 'soak' && soak_minutes !== undefined) return { ...step, minutes: soak_minutes };
    return step;
  });
  if (baths.length > bath + 1)
    throw new Refused('out_of_range', `baths: found ${baths.length}, the protocol has ${bath + 1} dip baths`);
  return { ...protocol, steps };
}

/** Litres of each dip bath; the last one given stands for those not given. */
export function bathsForRun({ baths }: RunStart, protocol: Protocol): { bathL: number }[] {
  const count = protocol.steps.filter(({ kind }) => kind === 'dip_bath').length;
  return Array.from({ length: count }, (_, index) => ({
    bathL: baths[index]?.bath_l ?? baths.at(-1)?.bath_l ?? usualBathL,
  }));
}

/**
 * Volumes of the dip bath that belongs to a step: that step's own, or the last one made before it; undefined before the first.
 *
 * @throws Refused out_of_range  for a bath that no rule allows
 */
export function bathAtStep(
  protocol: Protocol,
  facts: Pick<RunFacts, 'baths' | 'rinseL'>,
  step: number,
): DipBath | undefined {
  const place = protocol.steps.findLastIndex(({ kind }, index) => kind === 'dip_bath' && index <= step);
  const bath = protocol.steps[place];
  if (bath?.kind !== 'dip_bath') return undefined;
  const number = protocol.steps.slice(0, place).filter(({ kind }) => kind === 'dip_bath').length;
  const soak = protocol.steps.slice(place).find(({ kind }) => kind === 'soak');
  return orRefused(() =>
    dipBath({
      bathL: facts.baths[number]?.bathL ?? usualBathL,
      tankShare: bath.tankShare,
      reagents: bath.reagents,
      ...(soak?.kind === 'soak' ? { soakMinutes: soak.minutes } : {}),
      rinseL: facts.rinseL,
    }),
  );
}

export type BathCheck = {
  /** As measured by hand or by probes in it; what tank and bags make of it when neither is there. */
  water: MeasuredWater;
  by: 'probes' | 'test' | 'mixture' | 'nothing';
  toTank: ShockVerdict;
  /** What the pieces meet on their way into the bath, when the bags were measured. */
  fromBag?: ShockVerdict;
  warnings: string[];
};

/** The bath's own water against the tank's and the bags', before anything goes in. */
export function checkBath(
  store: Sources,
  run: ChecklistRun,
  facts: RunFacts,
  system: string,
  nowMs: number,
  units: KeepersUnits,
): BathCheck {
  const tank = feltWater(store, system, nowMs);
  const byProbes = facts.probesOf === undefined ? {} : feltWater(store, facts.probesOf, nowMs);
  const { timeMs: _timeMs, ...byTest } = facts.measured ?? { timeMs: 0 };
  const measured: MeasuredWater = { ...byTest, ...byProbes };
  const isMeasured = Object.keys(measured).length > 0;
  const bath = bathAtStep(run.protocol, facts, run.step);
  const mixture = isMeasured || bath === undefined ? {} : mixtureOf(tank, facts.bag, bath);
  const water = isMeasured ? measured : mixture;
  return orRefused(() => {
    const toTank = shockBetween(water, tank, largeDifferences, units);
    const fromBag = facts.bag === undefined ? undefined : shockBetween(facts.bag, water, largeDifferences, units);
    const warnings = [
      ...toTank.warnings.map((text) => `Bath to tank: ${text}`),
      ...(fromBag?.warnings ?? []).map((text) => `Bag to bath: ${text}`),
    ];
    if (toTank.unknown.includes('temperature') || toTank.unknown.includes('salinity'))
      warnings.push('Temperature or salinity of the bath or the tank is not known: measure before the pieces go in.');
    const by = Object.keys(byProbes).length > 0 ? 'probes' : isMeasured ? 'test' : mixtureBy(mixture);
    return { water, by, toTank, ...defined({ fromBag }), warnings };
  });
}

const mixtureBy = (mixture: MeasuredWater) => (Object.keys(mixture).length > 0 ? 'mixture' : 'nothing');

/** pH does not mix by volume and is left out. */
function mixtureOf(tank: MeasuredWater, bag: MeasuredWater | undefined, bath: DipBath): MeasuredWater {
  const { temperature, salinity } = bathWater(withoutPh(tank), withoutPh(bag ?? (bath.bagL === 0 ? tank : {})), bath);
  return { ...defined({ temperature, salinity }) };
}

function withoutPh({ temperature, salinity }: MeasuredWater): Omit<MeasuredWater, 'ph'> {
  return { ...defined({ temperature, salinity }) };
}

export type BagCheck = { tank: MeasuredWater; shock: ShockVerdict; ammonia?: AmmoniaInBag; plan: AcclimationPlan };

/** What bag water and tank differ in, the ammonia warning, and how the pieces are brought over. */
export function checkBag(
  store: Sources,
  entry: ShockEntry,
  system: string,
  nowMs: number,
  units: KeepersUnits,
): BagCheck {
  const { litres, total_ammonia_mg_l_n, ...given } = entry.bag;
  const bag = measuredOf(given);
  const tank = entry.into === undefined ? feltWater(store, system, nowMs) : measuredOf(entry.into);
  return orRefused(() => {
    const shock = shockBetween(bag, tank, largeDifferences, units);
    const ammonia = ammoniaOf(bag, tank, total_ammonia_mg_l_n);
    const plan = acclimationPlan(bag, tank, litres, ammonia?.isWarned === true, entry.float_minutes, units);
    return { tank, shock, ...defined({ ammonia }), plan };
  });
}

/** Leaves out what was not measured. */
export function measuredOf(
  given: { [Metric in keyof MeasuredWater]: MeasuredWater[Metric] | undefined },
): MeasuredWater {
  const { temperature, salinity, ph } = given;
  return {
    ...withoutPh({
      ...defined({ temperature, salinity }),
    }),
    ...defined({ ph }),
  };
}

function ammoniaOf(bag: MeasuredWater, tank: MeasuredWater, total: number | undefined): AmmoniaInBag | undefined {
  const { temperature, salinity, ph } = bag;
  if (temperature === undefined || salinity === undefined || ph === undefined) return undefined;
  if (tank.temperature === undefined || tank.ph === undefined) return undefined;
  // Water this thin or strong lies outside the formula; the difference of salinity is told anyway.
  if (salinity < 19 || salinity > 40) return undefined;
  return ammoniaInBag(
    { temperature, salinity, ph, ...defined({ totalAmmonia_mg_L_N: total }) },
    { temperature: tank.temperature, ph: tank.ph },
  );
}
