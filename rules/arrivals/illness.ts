/** What a keeper sees on a piece that is not well. */
export const illnessSigns = ['tissue_loss_fast', 'tissue_loss_slow', 'bleached', 'bite_marks', 'not_opening'] as const;

export type IllnessSign = (typeof illnessSigns)[number];

export type Illness = {
  /** As it stands after the name of a piece. */
  what: string;
  /** What to do first, in the order of doing it. */
  first: string;
};

const askSomebody = 'if it goes on, ask an experienced keeper or an aquatic veterinarian';
const ownTools = 'own tongs and cloths for it, hands washed after';
const cutting =
  'gloves and eye protection; never cut or scrub zoanthids or palythoas without both, for they may carry palytoxin';

/**
 * What each sign is called, and what a keeper does first. A help until somebody who knows has looked: it names no disease
 * and no remedy, since tissue that comes off looks much the same for many causes.
 *
 * @source common practice, no published source
 */
export const illnesses: Readonly<Record<IllnessSign, Illness>> = {
  tissue_loss_fast: {
    what: 'tissue is coming off within hours',
    first: `move it to its own vessel at once, ${ownTools}; look at its neighbours and test alkalinity, salinity and temperature; cut well into healthy tissue only when the loss does not stop (${cutting}); ${askSomebody}`,
  },
  tissue_loss_slow: {
    what: 'tissue is receding over days',
    first: `keep it apart, ${ownTools}; look for bites and eggs at the edge of the tissue; test alkalinity, phosphate and nitrate; do not move and dip it again and again; ${askSomebody}`,
  },
  bleached: {
    what: 'it is pale or bleached',
    first: `lower its light (hold the light plan, or step back); check temperature and nutrients; change nothing else at the same time; ${askSomebody}`,
  },
  bite_marks: {
    what: 'it has bite marks, eggs or pests',
    first: `keep it apart, ${ownTools}; look with a magnifier and name the pest at its arrival, so that dips and inspections follow it; look at its neighbours; scrape eggs off (${cutting})`,
  },
  not_opening: {
    what: 'it does not open',
    first: `look for pests and for a neighbour that stings it; check flow and light, test salinity and alkalinity; leave it in peace for a few days; ${askSomebody}`,
  },
};
