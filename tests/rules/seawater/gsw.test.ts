import { spawnSync } from 'node:child_process';
import { describe, expect, it } from 'vitest';
import { densityFromSalinityEos80 } from '#rules/seawater/density.ts';
import {
  conductivityFromPracticalSalinity,
  practicalSalinityFromConductivity,
} from '#rules/seawater/practical-salinity.ts';
import { isMissing, programAt } from '../../machine/parts.mjs';
import { patience } from '../../servers/server-process.ts';
import { seededUniform } from './seeded-gauss.ts';
import { WorstDifference } from './worst-difference.ts';

// TEOS-10 takes Absolute Salinity; 35.16504/35 is that of reference composition (IOC 2010, 2.4).
const program = `
import json, sys, gsw
waters = json.load(sys.stdin)
out = []
for w in waters:
    out.append({
        "salinity": float(gsw.SP_from_C(w["conductivity_mS_cm"], w["temperature_C"], 0)),
        "conductivity_mS_cm": float(gsw.C_from_SP(w["salinity"], w["temperature_C"], 0)),
        "density_kg_m3": float(gsw.rho_t_exact(w["salinity"] * 35.16504 / 35, w["temperature_C"], 0)),
    })
json.dump({"version": gsw.__version__, "waters": out}, sys.stdout)
`;

type Water = { salinity: number; temperature_C: number; conductivity_mS_cm: number };
type Answer = { version: string; waters: { salinity: number; conductivity_mS_cm: number; density_kg_m3: number }[] };

/** 400 waters drawn evenly over the whole range of PSS-78 with its extension; the salinities crowd at the low end. */
function waters(): Water[] {
  const uniform = seededUniform(1978);
  return Array.from({ length: 400 }, (_, place) => {
    const salinity = place % 4 === 0 ? 0.05 + 2.5 * uniform() : 0.05 + 41.9 * uniform();
    const temperature_C = -2 + 37 * uniform();
    // Another water's conductivity, from half to one and a half of this one's, so that it does not come from our inverse.
    const conductivity_mS_cm = salinity * (0.6 + 0.05 * temperature_C + 0.5 * uniform()) + 0.1;
    return { salinity, temperature_C, conductivity_mS_cm };
  });
}

describe.skipIf(isMissing('gsw'))('TEOS-10 GSW, an independent program', () => {
  it('finds the same salinity, conductivity and density in 400 random waters', () => {
    const asked = waters();
    const run = spawnSync(programAt('gsw'), ['-c', program], {
      encoding: 'utf8',
      input: JSON.stringify(asked),
      timeout: 25_000 * patience(),
    });
    expect(run.status, run.stderr).toBe(0);
    const answer: Answer = JSON.parse(run.stdout);
    expect(answer.waters).toHaveLength(asked.length);
    const salinity = new WorstDifference(`practical salinity against GSW ${answer.version}`, 1e-8);
    const conductivity = new WorstDifference(`conductivity against GSW ${answer.version}, mS/cm`, 1e-8);
    const density = new WorstDifference(`density EOS-80 against TEOS-10 GSW ${answer.version}, kg/m³`, 0.01);
    let beyond = 0;
    asked.forEach((water, place) => {
      const theirs = answer.waters[place]!;
      const where = JSON.stringify(water);
      if (theirs.salinity > 42) beyond += 1;
      else {
        const ours = practicalSalinityFromConductivity(water.conductivity_mS_cm, water.temperature_C);
        salinity.add(ours, theirs.salinity, where);
      }
      const oursBack_mS_cm = conductivityFromPracticalSalinity(water.salinity, water.temperature_C);
      conductivity.add(oursBack_mS_cm, theirs.conductivity_mS_cm, where);
      density.add(densityFromSalinityEos80(water.salinity, water.temperature_C), theirs.density_kg_m3, where);
    });
    // Most of the waters must count, or the check of salinity has become small.
    expect(beyond).toBeLessThan(asked.length / 4);
    salinity.check();
    conductivity.check();
    density.check();
  });
});
