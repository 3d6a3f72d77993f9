import type { TitrationChemistry } from '#rules/titration/acid-balance.ts';
import type { TitrationRun } from '#rules/titration/titration-run.ts';
import { type ReferenceRow, referenceTable } from '../seawater/reference-table.ts';

/** The nine titrations with their truth. Sources: fixtures/reference/README.md. */
export const referenceTitrations = referenceTable('alkalinity-titrations', 9);

/** The constants that the header row states, so that a test does not rest on our own. */
export function statedChemistry(header: ReferenceRow): TitrationChemistry {
  const totals = {
    k1: header.number('k1_free_mol_kg'),
    k2: header.number('k2_free_mol_kg'),
    kb: header.number('kb_free_mol_kg'),
    kw: header.number('kw_free_mol2_kg2'),
    ks: header.number('ks_free_mol_kg'),
    kf: header.number('kf_free_mol_kg'),
    totalBoron_umol_kg: header.number('total_boron_umol_kg'),
    totalSulfate_umol_kg: header.number('total_sulfate_umol_kg'),
    totalFluoride_umol_kg: header.number('total_fluoride_umol_kg'),
  };
  const phosphate_umol_kg = header.number('total_phosphate_umol_kg');
  if (phosphate_umol_kg === 0) return totals;
  const phosphate = {
    total_umol_kg: phosphate_umol_kg,
    kp1: header.number('kp1_free_mol_kg'),
    kp2: header.number('kp2_free_mol_kg'),
    kp3: header.number('kp3_free_mol_kg'),
  };
  return { ...totals, phosphate };
}

/** The data file of a titration. */
export function titrationRows(header: ReferenceRow): ReferenceRow[] {
  return referenceTable(header.text('file').replace('.csv', ''), header.number('n_points'));
}

type Column = 'ph_reading_exact' | 'ph_reading_noisy' | 'ph_free_true' | 'emf_mV';

/** A run as the command line would see it, with the stated constants. */
export function statedRun(header: ReferenceRow, column: Column): TitrationRun {
  return {
    points: titrationRows(header).map((row) => ({ acid_g: row.number('acid_added_g'), reading: row.number(column) })),
    signal: column === 'emf_mV' ? 'emf_mV' : 'ph',
    sample: { mass_g: header.number('sample_mass_g') },
    sampleDensity_g_mL: header.has('sample_density_g_mL') ? header.number('sample_density_g_mL') : 1.0233,
    acid: { mol_kg: header.number('acid_concentration_mol_kg') },
    temperature_C: header.number('sample_temperature_C'),
    cell:
      header.text('cell') === 'closed'
        ? { kind: 'closed', dic_umol_kg: header.number('dic_during_fit_umol_kg') }
        : { kind: 'open' },
    chemistry: statedChemistry(header),
  };
}
