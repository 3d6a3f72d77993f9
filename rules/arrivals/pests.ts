import { type Development, degreeDaysOf, developmentFromTwo } from './degree-days.ts';

/** When what a dip leaves alive can be reached by the next: counted from that dip. */
export type RepeatWindow =
  | {
      kind: 'degree_days';
      development: Development;
      /** The last eggs have hatched on average. */
      opens_degreeDays: number;
      /** The first hatchlings may lay. */
      closes_degreeDays: number;
      /** From egg to egg at the fastest. */
      generation_degreeDays: number;
    }
  | { kind: 'days'; opensDays: number; closesDays: number; watchDays: number };

export type Pest = {
  id: string;
  label: string;
  /** Dips after the first; 0 where only the eye keeps watch. */
  repeatDips: number;
  window: RepeatWindow;
  inspectEveryDays: number;
  /** What to look for. */
  lookFor: string;
  source: string;
};

/**
 * Prosthiostomum acroporae: 38 days from egg to egg at 27 °C, 64 at 24 °C, eggs hatch after 11 days on average.
 * The temperature of the 11 days is taken as 27 °C, and the threshold of the whole generation as that of the eggs; both are
 * assumptions of ours.
 */
function flatwormWindow(): RepeatWindow {
  const { development, degreeDays } = developmentFromTwo(
    { days: 64, temperature_C: 24 },
    { days: 38, temperature_C: 27 },
  );
  const eggs = degreeDaysOf({ days: 11, temperature_C: 27 }, development);
  return {
    kind: 'degree_days',
    development,
    opens_degreeDays: eggs,
    // Eggs about to hatch on the day of the dip have the head start of their whole time as eggs.
    closes_degreeDays: degreeDays - eggs,
    generation_degreeDays: degreeDays,
  };
}

const commonPractice = 'common practice, no published source';

/** What a plan knows of each pest; a keeper's own file adds more. */
export const pests = {
  acropora_flatworm: {
    id: 'acropora_flatworm',
    label: 'Acropora-eating flatworm (Prosthiostomum acroporae)',
    repeatDips: 1,
    window: flatwormWindow(),
    inspectEveryDays: 7,
    lookFor:
      'pale round bite marks, amber egg clusters on bare skeleton at the base; scrape eggs off, dips do not kill them',
    source: 'Barton et al. 2019, Frontiers in Marine Science 6:524; inspections: common practice, no published source',
  },
  montipora_nudibranch: {
    id: 'montipora_nudibranch',
    label: 'Montipora-eating nudibranch',
    repeatDips: 3,
    window: { kind: 'days', opensDays: 6, closesDays: 9, watchDays: 42 },
    inspectEveryDays: 7,
    lookFor: 'white slugs and egg coils on the underside and at the edge; dips do not kill the eggs',
    source: commonPractice,
  },
  acropora_red_bug: {
    id: 'acropora_red_bug',
    label: 'Acropora red bug (Tegastes acroporanus)',
    repeatDips: 2,
    window: { kind: 'days', opensDays: 6, closesDays: 8, watchDays: 28 },
    inspectEveryDays: 7,
    lookFor: 'yellow dots with a red spot that move over the skin, polyps drawn in; a magnifier helps',
    source: commonPractice,
  },
  zoanthid_nudibranch: {
    id: 'zoanthid_nudibranch',
    label: 'Zoanthid-eating nudibranch',
    repeatDips: 3,
    window: { kind: 'days', opensDays: 6, closesDays: 9, watchDays: 42 },
    inspectEveryDays: 7,
    lookFor:
      'slugs in the colour of the polyps and white egg coils between them, polyps that stay closed; dips do not kill the eggs. Gloves and eye protection: zoanthids may carry palytoxin',
    source: commonPractice,
  },
  none_seen: {
    id: 'none_seen',
    label: 'No pest seen',
    repeatDips: 0,
    window: { kind: 'days', opensDays: 7, closesDays: 14, watchDays: 42 },
    inspectEveryDays: 7,
    lookFor: 'bite marks, eggs, slugs, unknown anemones and algae',
    source: commonPractice,
  },
} satisfies Readonly<Record<string, Pest>>;
