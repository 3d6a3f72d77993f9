/** Why a piece was lost. */
export const lossCauses = [
  'pest',
  'tissue_loss',
  'bleached',
  'broken',
  'never_settled',
  'other_animal',
  'unknown',
] as const;

/** Why a person does not do what was suggested. `other` goes with a note. */
export const declineReasons = ['test_first', 'too_much', 'other_means', 'later', 'cause_known', 'other'] as const;

export type LossCause = (typeof lossCauses)[number];
export type DeclineReason = (typeof declineReasons)[number];
