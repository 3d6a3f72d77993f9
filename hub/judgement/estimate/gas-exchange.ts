import type { Store } from '#adapters/ports/store.ts';
import { dayMs, hourMs } from '#rules/clock/durations.ts';
import { defined } from '#rules/plain-data/defined.ts';
import { meqPerLFromDkh } from '#rules/quantity/alkalinity-unit.ts';
import { umolPerKgFromMmolPerL } from '#rules/quantity/amount.ts';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import { carbonateFromAlkalinityAndPh } from '#rules/seawater/carbonate-system.ts';
import { densityFromSalinityEos80 } from '#rules/seawater/density.ts';
import { lowPhFrom } from '#rules/seawater/low-ph.ts';
import { convertPh, type PhScale } from '#rules/seawater/ph-scale.ts';
import { type Dated, dayCourse } from '#rules/trend/day-course.ts';
import type { DemandEstimate } from '#rules/trend/demand-filter.ts';
import { type GasTransfer, gasTransferFromNights } from '#rules/trend/gas-transfer.ts';
import { localHourOf, localMinuteOf } from '../../model/calendar/local-day.ts';
import type { Config, SystemConfig } from '../../model/config/schema.ts';
import { type Entry, ofKind } from '../../model/journal/journal.ts';
import { phScales } from './advice-input.ts';
import { gasNights } from './gas-nights.ts';
import type { GasNow } from './gas-now.ts';
import { gasWords } from './gas-words.ts';
import { readEntries } from './known-entries.ts';
import { knownWater } from './known-water.ts';
import { sourcesNow } from './sources-now.ts';
import { hoursOf } from './water-by-hour.ts';

/** Nights that the gas exchange is learned from, and days of the course that is shown. Chosen here: an electrode drifts over longer. */
const learnedFromDays = 21;
const courseOfDays = 7;
/** A room's CO2 read by hand says something of these days. Chosen here. */
const roomReadDays = 30;
/** Water of no salinity or temperature known: a reef's. @source common practice, no published source */
const fallback = { salinity: 35, temperature_C: 25 };

export type GasExchange = {
  /** The day's course of pH and saturation, gas exchange, and what a low pH comes from; undefined for a system that is not there. */
  of(system: string): GasNow | undefined;
  /** The gas exchange alone, learned once a day. */
  transferOf(system: string): GasTransfer | undefined;
};

type GasStore = Pick<Store, 'journal' | 'series' | 'latest' | 'summaries'>;

/**
 * What pH and alkalinity tell of the carbon dioxide between water and air.
 *
 * @param parts.hoursOfLight  as the keeper told them; a window guessed from pH held the truth in 80 of 100 tanks only
 * @param parts.alkalinity  the estimate of a system's alkalinity; undefined while there is none
 */
export function createGasExchange(parts: {
  config: Config;
  store: GasStore;
  now(): number;
  alkalinity(system: string): DemandEstimate | undefined;
  hoursOfLight(system: string, timeMs: number): { onMinute: number; lightHours: number } | undefined;
}): GasExchange {
  const { config, store } = parts;
  const scaleOf = phScales(config);
  const zone = config.site.timezone;
  const learned = new Map<string, { atMs: number; transfer: GasTransfer | undefined }>();
  const hourOf = (timeMs: number): number => localHourOf(timeMs, zone);

  function factsOf(system: SystemConfig, nowMs: number) {
    const entries = readEntries(store, system.id, nowMs - roomReadDays * dayMs);
    const known = knownWater(store, system, entries, scaleOf, nowMs);
    const hours = (metric: Parameters<typeof hoursOf>[2]) =>
      hoursOf(store, system.id, metric, nowMs - learnedFromDays * dayMs, nowMs);
    const [ph, temperature, room] = [hours('ph'), hours('temperature'), hours('room_co2')];
    return {
      entries,
      ph,
      temperature,
      room,
      scale: ph.probe === undefined ? ('nbs' as const) : scaleOf(ph.probe),
      salinity: known.salinity?.value ?? fallback.salinity,
      temperature_C: known.temperature_C?.value ?? fallback.temperature_C,
      estimate: parts.alkalinity(system.id),
    };
  }

  type GasFacts = ReturnType<typeof factsOf>;

  function learn(system: SystemConfig, water: GasFacts, nowMs: number): GasTransfer | undefined {
    const { estimate, entries, scale, salinity, temperature_C } = water;
    const light = parts.hoursOfLight(system.id, nowMs);
    if (estimate === undefined || light === undefined || light.lightHours >= 24) return undefined;
    const spot = spotRoom(entries);
    try {
      return gasTransferFromNights(
        gasNights(
          system,
          entries,
          {
            ph: water.ph.hours,
            temperature: water.temperature.hours,
            room: water.room.hours,
            salinity,
            temperature_C,
            alkalinity_dKH: estimate.level,
            usePerDay_dKH: Math.max(0, estimate.demandPerDay),
            usePerDaySd_dKH: estimate.demandSd,
            sources: sourcesNow(store, system, scaleOf, nowMs),
            ...defined({ spotRoom_ppm: spot }),
          },
          light,
          (shown) => convertPh(shown, scale, 'total', { salinity, temperature_C }),
          (timeMs) => localMinuteOf(timeMs, zone) / 60,
          nowMs,
        ),
      );
    } catch (error) {
      // Water such that the carbonate system says nothing about it.
      if (error instanceof OutOfRange) return undefined;
      throw error;
    }
  }

  function learnedOf(system: SystemConfig, water: GasFacts, nowMs: number): GasTransfer | undefined {
    const known = learned.get(system.id);
    if (known?.transfer !== undefined && nowMs - known.atMs < dayMs) return known.transfer;
    const transfer = learn(system, water, nowMs);
    learned.set(system.id, { atMs: nowMs, transfer });
    return transfer;
  }

  const named = (id: string): SystemConfig | undefined => config.systems.find((each) => each.id === id);

  return {
    transferOf(id) {
      const system = named(id);
      if (system === undefined) return undefined;
      const nowMs = parts.now();
      // Advice is asked for with each entry: what is not known is not looked for again within the hour.
      const known = learned.get(id);
      return known !== undefined && nowMs - known.atMs < hourMs
        ? known.transfer
        : learnedOf(system, factsOf(system, nowMs), nowMs);
    },
    of(id) {
      const system = named(id);
      if (system === undefined) return undefined;
      const nowMs = parts.now();
      const water = factsOf(system, nowMs);
      const transfer = learnedOf(system, water, nowMs);
      const fromMs = nowMs - courseOfDays * dayMs;
      const courseOf = ({ hours, lows }: { hours: readonly Dated[]; lows: readonly Dated[] }) => {
        const lowest = lows.filter(({ timeMs }) => timeMs >= fromMs).sort((a, b) => a.value - b.value)[0];
        return (
          lowest && {
            course: dayCourse(
              hours.filter(({ timeMs }) => timeMs >= fromMs),
              hourOf,
            ),
            lowest,
          }
        );
      };
      const ph = courseOf(water.ph);
      const aragonite = courseOf(hoursOf(store, id, 'aragonite_saturation', fromMs, nowMs));
      const recentRoom = water.room.hours.filter(({ timeMs }) => timeMs >= fromMs);
      const room_ppm = recentRoom.length > 0 ? meanOf(recentRoom) : spotRoom(water.entries);
      const reactor = sourcesNow(store, system, scaleOf, nowMs).reduce(
        (sum, { co2MmolPerDay }) => sum + (co2MmolPerDay ?? 0),
        0,
      );
      const carbon =
        ph &&
        carbonOf(system, water, meanOf(ph.course.map(({ mean }) => ({ value: mean }))), room_ppm, transfer, reactor);
      const found = {
        ph: ph && { ...ph, scale: water.scale },
        aragonite,
        isLightTold: parts.hoursOfLight(id, nowMs) !== undefined,
        transfer,
        room_ppm,
        halfLife_h: carbon?.halfLife_h,
        lowPh: carbon?.lowPh,
      };
      return { ...found, ...gasWords(found, zone) };
    },
  };
}

/** Mean of what people have read of the room's air. */
function spotRoom(entries: readonly Entry[]): number | undefined {
  const read = ofKind(entries, 'test').filter(({ body }) => body.analyte === 'room_co2');
  return read.length === 0 ? undefined : meanOf(read.map(({ body }) => body));
}

const meanOf = (all: readonly { value: number }[]): number =>
  all.reduce((sum, { value }) => sum + value, 0) / all.length;

type MeteredWater = { scale: PhScale; salinity: number; temperature_C: number; estimate: DemandEstimate | undefined };

/** What the mean pH of the week says, at the alkalinity of now; undefined without one, or past the carbonate system. */
function carbonOf(
  system: SystemConfig,
  { scale, salinity, temperature_C, estimate }: MeteredWater,
  shownPh: number,
  room_ppm: number | undefined,
  transfer: GasTransfer | undefined,
  reactor_mmol_day: number,
): Pick<GasNow, 'halfLife_h' | 'lowPh'> | undefined {
  if (estimate === undefined) return undefined;
  const at = { salinity, temperature_C };
  const density_kg_L = densityFromSalinityEos80(salinity, temperature_C) / 1000;
  const totalAlkalinity_umol_kg = umolPerKgFromMmolPerL(meqPerLFromDkh(estimate.level), density_kg_L);
  try {
    const phTotal = convertPh(shownPh, scale, 'total', at);
    const of = (ph: number) => carbonateFromAlkalinityAndPh({ ...at, totalAlkalinity_umol_kg, phTotal: ph });
    const [now, below, above] = [of(phTotal), of(phTotal - 0.01), of(phTotal + 0.01)];
    const low = lowPhFrom({
      ...at,
      totalAlkalinity_umol_kg,
      pco2_uatm: now.pco2_uatm,
      ...defined({ room_ppm }),
      ...(transfer === undefined || reactor_mmol_day <= 0
        ? {}
        : {
            reactor: {
              co2_umol_kg_h: (reactor_mmol_day * 1000) / 24 / system.volume_l / density_kg_L,
              coefficient_per_h: transfer.coefficient_per_h,
            },
          }),
    });
    const { phInOutdoorAir, phInRoomAir, phWithReactor, phNow } = low;
    const shown = Object.fromEntries(
      Object.entries({ phInOutdoorAir, phInRoomAir, phWithReactor, phNow }).flatMap(([name, ph]) =>
        ph === undefined ? [] : [[name, convertPh(ph, 'total', scale, at)]],
      ),
    );
    // Carbon that has to leave for each µmol of CO2: most of it is bicarbonate and carbonate.
    const carbonPerGas = (below.dic_umol_kg - above.dic_umol_kg) / (below.co2_umol_kg - above.co2_umol_kg);
    const half = (coefficient: number): number => (Math.LN2 * carbonPerGas) / coefficient;
    return {
      halfLife_h: transfer && {
        likely: half(transfer.coefficient_per_h),
        low95: half(transfer.high95),
        high95: half(transfer.low95),
      },
      lowPh: { ...low, shown },
    };
  } catch (error) {
    if (error instanceof OutOfRange) return undefined;
    throw error;
  }
}
