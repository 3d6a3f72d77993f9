/** A number of the review, or the reason why there is none: what cannot be computed is absent, and never 0. */
export type Figure = { value: number } | { absent: string };

export function known(value: number): Figure {
  return { value };
}

export function absent(reason: string): Figure {
  return { absent: reason };
}

/** The number; undefined for an absent one. */
export function numberOf(figure: Figure): number | undefined {
  return 'value' in figure ? figure.value : undefined;
}
