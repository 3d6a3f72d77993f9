import type { Store } from '#adapters/ports/store.ts';
import { dayMs } from '#rules/clock/durations.ts';
import { effluentCarbon_mol_eq, reactorCarbon, reactorCautions } from '#rules/dosing/calcium-reactor.ts';
import { limeWaterCautions } from '#rules/dosing/lime-water.ts';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import { convertPh } from '#rules/seawater/ph-scale.ts';
import { demandAnalytes } from '#rules/trend/demand-facts.ts';
import type { SystemConfig } from '../../model/config/schema.ts';
import { stockStrength } from '../../model/config/stock-strength.ts';
import { type Rises, risesPerMl } from './dose-rise.ts';
import { readEntries } from './known-entries.ts';
import { knownWater, type ScaleOf, type WaterStore } from './known-water.ts';
import { planNow } from './standing-plan.ts';

/** As far back as the estimate looks. Chosen here, with it. */
const entriesOfDays = 120;

export type SourceNow = {
  stock: string;
  name: string;
  mlPerDay: number;
  risesPerDay: Rises;
  /** Carbon dioxide that it carries into the tank, mmol a day, and the pH (total scale) that a day of it can lead to; null where unknown. */
  co2MmolPerDay: number | null;
  phAfterDay: number | null;
  /** Of a reactor: all the carbon with each equivalent of alkalinity; null where unknown. */
  carbon_mol_eq: number | null;
  text: string;
  cautions: readonly string[];
};

/** What feeds alkalinity to a system beside bottles: lime water, a reactor, balanced salts; what each brings a day by the plan of now. */
export function sourcesNow(
  store: WaterStore & Pick<Store, 'journal'>,
  system: SystemConfig,
  scaleOf: ScaleOf,
  nowMs: number,
): SourceNow[] {
  const entries = readEntries(store, system.id, nowMs - entriesOfDays * dayMs);
  const plans = planNow(system, entries, nowMs);
  return system.stocks.flatMap((stock): SourceNow[] => {
    const isMixed = stock.also_raises_100_l_by_per_ml !== undefined;
    if (stock.top_off === undefined && stock.effluent === undefined && !isMixed) return [];
    const mlPerDay = plans.find((plan) => plan.stock === stock.id)?.mlPerDay ?? 0;
    const perMl = risesPerMl(stock, system.volume_l);
    const risesPerDay: Rises = Object.fromEntries(
      demandAnalytes.flatMap((analyte) => {
        const rise = (perMl[analyte] ?? 0) * mlPerDay;
        return rise > 0 ? [[analyte, rise]] : [];
      }),
    );
    const carbon = carbonOf(stock, knownWater(store, system, entries, scaleOf, nowMs), mlPerDay, system.volume_l);
    return [
      {
        stock: stock.id,
        name: stock.name,
        mlPerDay,
        risesPerDay,
        co2MmolPerDay: carbon?.co2MmolPerDay ?? null,
        phAfterDay: carbon?.phAfterDay ?? null,
        carbon_mol_eq: carbon?.carbon_mol_eq ?? null,
        text: textOf(stock, mlPerDay, risesPerDay, carbon),
        cautions: stock.top_off !== undefined ? limeWaterCautions : stock.effluent !== undefined ? reactorCautions : [],
      },
    ];
  });
}

type Stock = SystemConfig['stocks'][number];
type Carbon = { co2MmolPerDay: number; phBefore: number; phAfterDay: number; carbon_mol_eq: number | undefined };

function carbonOf(
  { effluent }: Stock,
  water: ReturnType<typeof knownWater>,
  mlPerDay: number,
  volumeL: number,
): Carbon | undefined {
  if (effluent?.ph === undefined || water.ph === undefined || mlPerDay <= 0) return undefined;
  const at = { salinity: water.salinity?.value ?? 35, temperature_C: water.temperature_C?.value ?? 25 };
  try {
    const phBefore = convertPh(water.ph.value, water.ph.scale, 'total', at);
    const through = {
      ...at,
      tankAlkalinity_dKH: water.alkalinity_dKH?.value ?? effluent.tank_alkalinity_dkh,
      tankPhTotal: phBefore,
      effluentAlkalinity_dKH: effluent.alkalinity_dkh,
      effluentPhTotal: convertPh(effluent.ph, 'nbs', 'total', at),
    };
    const carbon = reactorCarbon(through, Math.min(1, mlPerDay / 1000 / volumeL));
    return {
      co2MmolPerDay: (carbon.co2_mmol_L * mlPerDay) / 1000,
      phBefore,
      phAfterDay: carbon.phAfterDay,
      carbon_mol_eq: effluentCarbon_mol_eq(through),
    };
  } catch (error) {
    // Water such that the carbonate system says nothing about it.
    if (error instanceof OutOfRange) return undefined;
    throw error;
  }
}

function textOf(stock: Stock, mlPerDay: number, rises: Rises, carbon: Carbon | undefined): string {
  const litres = (mlPerDay / 1000).toFixed(mlPerDay < 10_000 ? 2 : 1);
  const brings = [
    ...(rises.alkalinity === undefined ? [] : [`${rises.alkalinity.toFixed(2)} dKH`]),
    ...(rises.calcium === undefined ? [] : [`${rises.calcium.toFixed(1)} mg/L of calcium`]),
    ...(rises.magnesium === undefined ? [] : [`${rises.magnesium.toFixed(1)} mg/L of magnesium`]),
  ].join(', ');
  const strength = stockStrength(stock);
  const lime =
    stock.top_off !== undefined && strength.of === 'substance' && strength.gramsPerLitre !== undefined
      ? ` of ${strength.gramsPerLitre.toFixed(2)} g/L (${(100 * stock.top_off.saturation_share).toFixed(0)} % of saturation at ${stock.top_off.temperature_c} °C)`
      : '';
  const gas =
    carbon === undefined
      ? ''
      : ` It carries ${carbon.co2MmolPerDay.toFixed(1)} mmol of carbon dioxide a day: before any of it leaves, pH (total scale) would go from ${carbon.phBefore.toFixed(2)} to ${carbon.phAfterDay.toFixed(2)}.`;
  return `${stock.name}: ${litres} L a day${lime}: ${brings || 'nothing'} a day.${gas}`;
}
