import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import type { TitrationAnswer } from '#hub/api/titrations.ts';
import { hubAdaptersOn } from '#hub/compose.ts';
import type { BodyOf } from '#hub/model/journal/bodies.ts';
import type { Hub } from '#hub/room/hub.ts';
import { alkalinityFromSeawaterTitration } from '#rules/titration/seawater-titration.ts';
import { openPtyLine, type PtyLine } from '../../../hub/demo/pty-line.ts';
import { seededRandom } from '../../../hub/demo/seeded-random.ts';
import { createManualClock } from '../../adapters/clock/manual-clock.ts';
import {
  type BeakerTruth,
  gaussianFrom,
  type SimulatedBeaker,
  simulatedBeaker,
} from '../../rules/titration/simulated-beaker.ts';
import { configOf, getJson, postJson, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';
import { patience, waitUntil } from '../../servers/server-process.ts';

const startMs = Date.parse('2026-06-01T12:00:00Z');
const series = { system: 'display', metric: 'ph', probe: 'ph-1' } as const;
/** 95 % of a normal distribution: JCGM 100:2008, table G.1. */
const sdsOf95 = 1.96;

/** What no one at the tank knows. The board's electrode is flat by 4 % and off by 0.2 before it is calibrated. */
const truth: BeakerTruth = {
  ...{ salinity: 35, temperature_C: 25, alkalinity_umol_kg: 2745, dic_umol_kg: 2480, co2Time_s: 75 },
  ...{ sample_g: 100.07, acid_mol_kg: 0.1002 },
  ...{ offset_ph: 0.2, slope: 0.96, lag_s: 9, noise_ph: 0.006, drift_ph_h: 0.01, resolution_ph: 0.01 },
};

describe('a titration with the probe of a board on a serial line', () => {
  let scratch: ReturnType<typeof scratchRoom>;
  let line: PtyLine | undefined;
  let hub: Hub | undefined;

  beforeEach(() => {
    scratch = scratchRoom();
  });
  afterEach(async () => {
    await hub?.stop();
    await line?.stop();
    scratch.remove();
  });

  test(
    'misses the alkalinity by more than it says, forgets the beaker when the hub starts again, or loses the run',
    async () => {
      const clock = createManualClock(startMs);
      line = await openPtyLine(scratch.dir);
      if (line === undefined) throw new Error('neither socat nor python3 made a pseudo-terminal');
      const board = line;
      const config = configOf(
        roomText(scratch.dir, {
          serial: [{ id: 'bench', path: board.path, format: 'key_value' }],
          probes: [
            { id: 'ph-1', system: 'display', metric: 'ph', serial: { port: 'bench', channel: 'ph' }, every_seconds: 1 },
          ],
        }),
      );
      hub = await startHubHere(config, hubAdaptersOn(clock));
      const random = seededRandom(71);
      const beaker = simulatedBeaker(truth, gaussianFrom(random));
      let time_s = 0;

      /** The board speaks each second; each line is in the store before the next. */
      async function speak(seconds: number, vessel: SimulatedBeaker = beaker): Promise<void> {
        for (let done = 0; done < seconds; done += 1) {
          clock.advance(1000);
          if (vessel === beaker) beaker.goOnTo(++time_s);
          board.write(Buffer.from(`ph=${vessel.shown()}\n`));
          const heard = () => (hub?.store.latest(series)?.timeMs ?? 0) >= clock.nowMs();
          while (!heard()) await new Promise((resolve) => setTimeout(resolve, 1));
        }
      }
      async function post(path: string, body: unknown = {}): Promise<Response> {
        const response = await postJson(`${hub?.url}/api/${path}`, body);
        if (!response.ok) throw new Error(`${path}: ${response.status} ${await response.text()}`);
        return response;
      }
      async function firstWords(): Promise<void> {
        await waitUntil('the hub hears the board', () => {
          board.write(Buffer.from(`ph=${beaker.shown()}\n`));
          return (hub?.store.latest(series)?.timeMs ?? 0) >= clock.nowMs();
        });
      }

      await firstWords();
      // Two buffers, as the board shows them: pH 7.00 and 4.01 on their bottles.
      const shownIn = (ph: number) => Number((7 + truth.slope * (ph - 7) + truth.offset_ph).toFixed(2));
      const buffers = [7, 4.01].map((ph) => ({ ph, temperature_C: 25, shown_ph: shownIn(ph) }));
      await post('calibrations', { probe: 'ph-1', kind: 'ph', by: 'Ana', why: 'before a titration', buffers });

      const begun = await post('titrations', {
        ...{ system: 'display', by: 'Ana', sample_g: 100, acid_mol_kg: 0.1, acid_sd_percent: 0.3, acid_by: 'g' },
        ...{ salinity: 35, temperature_c: 25, airing: 'bubbled', acid_lot: 'invented lot 12' },
      });
      const { id, cautions } = (await begun.json()) as TitrationAnswer;
      expect(cautions.join(' ')).toMatch(/acid into water/);
      const maintained = await getJson<{ probe?: string }[]>(`${hub.url}/api/maintenance`);
      expect(maintained).toMatchObject([{ probe: 'ph-1' }]);
      expect(
        (await postJson(`${hub.url}/api/titrations`, { system: 'display', sample_g: 100, acid_mol_kg: 0.1 })).status,
      ).toBe(409);

      await speak(30);
      let portions = 0;
      let view = await getJson<TitrationAnswer>(`${hub.url}/api/titrations/${id}`);
      const said = new Set<string>();
      while (view.deed.do !== 'stop' && time_s < 3600) {
        if (view.deed.do === 'add') {
          const { amount } = view.deed;
          beaker.add(amount + 0.01 * (random() - 0.5));
          const body = { amount, key: `portion-${portions}` };
          // A phone that sends twice has poured once.
          await post(`titrations/${id}/acid`, body);
          await post(`titrations/${id}/acid`, body);
          portions += 1;
          if (portions === 4) {
            await hub.stop();
            hub = await startHubHere(config, hubAdaptersOn(clock));
            await firstWords();
          }
        }
        await speak(6);
        view = await getJson<TitrationAnswer>(`${hub.url}/api/titrations/${id}`);
        said.add(view.deed.do === 'wait' ? `wait for ${view.deed.for}` : view.deed.do);
      }
      expect(view.portions).toBe(portions);
      expect([...said].sort()).toEqual(['add', 'stop', 'wait for co2', 'wait for probe']);
      expect(view.warnings).toEqual([]);

      const { answer } = view;
      if (answer === null) throw new Error(view.no_answer ?? 'no answer');
      const error = answer.total_alkalinity_umol_kg - truth.alkalinity_umol_kg;
      console.log(
        `titration over a pseudo-terminal (${board.by}): true ${truth.alkalinity_umol_kg}, found ` +
          `${answer.total_alkalinity_umol_kg.toFixed(1)} ± ${answer.half_width95_umol_kg.toFixed(1)} µmol/kg ` +
          `(${answer.alkalinity_dkh.toFixed(2)} dKH), ${portions} portions, ${answer.points_used} points, ` +
          `${(time_s / 60).toFixed(1)} min, probe ${answer.ph_offset.toFixed(3)} above free pH, Gran ${view.gran_dkh?.toFixed(2)} dKH`,
      );
      expect(Math.abs(error)).toBeLessThan(answer.half_width95_umol_kg);
      expect(answer.half_width95_umol_kg).toBeLessThan(30);
      expect(answer.points_used).toBeGreaterThanOrEqual(8);

      const finished = (await (await post(`titrations/${id}/finish`, { by: 'Ana' })).json()) as {
        id: number;
        saved: string;
      };
      expect(finished.saved).toMatch(/^Saved: alkalinity \d\.\d+ dKH$/);
      const [entry] = hub.store.journal({ id: finished.id });
      const body = entry?.body as BodyOf<'test'>;
      expect(body).toMatchObject({ analyte: 'alkalinity', by: 'Ana', given_unit: 'dKH' });
      expect(body.value).toBeCloseTo(answer.alkalinity_dkh, 2);
      expect(body.sd).toBeCloseTo((answer.high95_dkh - answer.low95_dkh) / 2 / sdsOf95, 3);
      const kept = body.titration;
      if (kept === undefined) throw new Error('the run is not in the journal');
      expect(kept).toMatchObject({ probe: 'ph-1', acid_lot: 'invented lot 12', points_used: answer.points_used });

      // Whoever reads the journal can fit the run again.
      const { salinity, temperature_C, sample, acid } = kept.setup;
      const again = alkalinityFromSeawaterTitration({
        ...{ salinity, temperature_C, sample, acid, signal: 'ph', cell: { kind: 'open' } },
        points: kept.points.filter(({ ph }) => ph < 4.4).map((point) => ({ acid_g: point.acid, reading: point.ph })),
      });
      if (again.kind !== 'answer') throw new Error(again.why);
      expect(Math.abs(again.totalAlkalinity_umol_kg - kept.total_alkalinity_umol_kg)).toBeLessThan(5);

      expect(await getJson(`${hub.url}/api/titrations`)).toEqual([]);
      expect(await getJson(`${hub.url}/api/maintenance`)).toEqual([]);
      expect((await fetch(`${hub.url}/api/titrations/${id}`)).status).toBe(404);
    },
    240_000 * patience(),
  );
});
