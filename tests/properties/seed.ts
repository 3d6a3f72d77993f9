import fc from 'fast-check';

// A suite that passes on one run and fails on the next says nothing about the commit between them, so all runs meet the same cases
// (and each mutant, else it is killed by luck). New cases are sought on purpose: `npm run properties`.
fc.configureGlobal({ seed: Number(process.env['PROPERTY_SEED'] ?? 20_261_125) });
