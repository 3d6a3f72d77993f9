import fc from 'fast-check';

// Every mutant meets the same cases: else the score changes from run to run, and a mutant is killed by luck.
fc.configureGlobal({ seed: 20_261_125 });
