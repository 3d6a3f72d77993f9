import type { Protocol } from './protocol.ts';

/** In fresh salt water, until no smell of the dip is left. @source common practice, no published source */
const rinseMinutes = 10;

/** Place for the dose that the keeper types from the label before the bath is made. */
const noReagentYet = [] as const;

/**
 * Protocols to start from; a keeper's own stand beside them. Doses are the maker's and so not in them.
 *
 * @source common practice, no published source
 */
export const ownProtocols: readonly Protocol[] = [
  {
    id: 'dip_and_inspect',
    name: 'Float, dip, rinse, new plug, inspect',
    steps: [
      { kind: 'float', minutes: 60 },
      { kind: 'dip_bath', tankShare: 0.5, reagents: noReagentYet },
      { kind: 'soak', minutes: 7 },
      { kind: 'swirl_and_rinse_off' },
      { kind: 'rinse_bath', minutes: rinseMinutes },
      { kind: 'new_plug' },
      { kind: 'inspection' },
      { kind: 'placement' },
    ],
  },
  {
    id: 'repeat_dip',
    name: 'Repeat dip of pieces from the quarantine',
    steps: [
      { kind: 'inspection' },
      { kind: 'dip_bath', tankShare: 1, reagents: noReagentYet },
      { kind: 'soak', minutes: 7 },
      { kind: 'swirl_and_rinse_off' },
      { kind: 'rinse_bath', minutes: rinseMinutes },
      { kind: 'inspection' },
      { kind: 'placement' },
    ],
  },
  {
    id: 'acclimate_only',
    name: 'Float, acclimate, inspect: for animals that are not dipped',
    steps: [
      { kind: 'float', minutes: 60 },
      { kind: 'acclimate', minutes: 60 },
      { kind: 'inspection' },
      { kind: 'placement' },
    ],
  },
];
