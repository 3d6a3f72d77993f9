import { dkhFromMeqPerL } from '#rules/quantity/alkalinity-unit.ts';
import { densityFromSalinityEos80 } from '#rules/seawater/density.ts';
import type { TitrationAnswer } from '../../api/titrations.ts';
import { saidDeed, saidWarnings, titrationCautions } from '../../judgement/titration/titration-words.ts';
import type { TitrationNow } from '../../judgement/titration/titrator.ts';

const instant = (timeMs: number) => new Date(timeMs).toISOString();

/** A running titration as the page and other programs see it. */
export function titrationView({ run, guidance }: TitrationNow, nowMs: number): TitrationAnswer {
  const { setup, portions } = run;
  const { deed, probe, points, hold, verdict, gran_umol_kg, acid, warnings } = guidance;
  const density_kg_L = densityFromSalinityEos80(setup.salinity, setup.temperature_C) / 1000;
  const dkh = (umol_kg: number) => dkhFromMeqPerL((umol_kg * density_kg_L) / 1000);
  return {
    id: run.id,
    system: run.system,
    probe: run.probe,
    by: run.by,
    started: instant(run.startedMs),
    acid_unit: setup.acidBy,
    acid_step: setup.acidStep,
    salinity: setup.salinity,
    temperature_c: setup.temperature_C,
    added: acid,
    portions: portions.length,
    deed:
      deed.do === 'wait' ? { do: 'wait', for: deed.for, waited_s: Math.max(0, (nowMs - deed.sinceMs) / 1000) } : deed,
    say: saidDeed(guidance, setup.acidBy, nowMs),
    probe_now: {
      state: probe.state,
      ...('ph' in probe ? { ph: probe.ph, change_ph: probe.change_ph } : { ph: null, change_ph: null }),
    },
    points: points.map(({ timeMs, acid: total, ph, isAtRest }) => ({
      time: instant(timeMs),
      acid: total,
      ph,
      is_at_rest: isAtRest,
    })),
    co2:
      hold === undefined
        ? null
        : {
            is_waiting: hold.isNow,
            waited_s: hold.waited_ms / 1000,
            shortest_s: hold.shortest_ms / 1000,
            risen_ph: hold.risen_ph,
            left_at_most: hold.leftAtMost,
          },
    answer: verdict?.kind === 'answer' ? answerView(verdict, dkh) : null,
    no_answer: verdict?.kind === 'no_answer' ? verdict.why : null,
    gran_dkh: gran_umol_kg === undefined ? null : dkh(gran_umol_kg),
    warnings: saidWarnings(warnings),
    cautions: [...titrationCautions],
  };
}

type Answered = Extract<TitrationNow['guidance']['verdict'], { kind: 'answer' }>;

function answerView(verdict: Answered, dkh: (umol_kg: number) => number): TitrationAnswer['answer'] {
  const { totalAlkalinity_umol_kg: found, halfWidth95_umol_kg: half, electrode } = verdict;
  return {
    alkalinity_dkh: dkh(found),
    low95_dkh: dkh(found - half),
    high95_dkh: dkh(found + half),
    total_alkalinity_umol_kg: found,
    sd_umol_kg: verdict.sd_umol_kg,
    half_width95_umol_kg: half,
    shares_umol_kg: verdict.shares,
    points_used: verdict.points_used,
    ph_offset: electrode.signal === 'ph' ? electrode.phOffset : 0,
  };
}
