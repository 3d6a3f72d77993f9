/**
 * The least value that is not below this share of all (nearest rank).
 *
 * @param sorted  ascending, at least one
 * @param share   above 0, up to 1
 */
export function quantile(sorted: readonly number[], share: number): number {
  return sorted[Math.ceil(sorted.length * share) - 1]!;
}

export function ascending(values: readonly number[]): number[] {
  return [...values].sort((a, b) => a - b);
}
