/** True for an alarm that is active and counts: not silenced by another alarm, whose cause is its own, or by maintenance. */
export function isCounted({ isStanding, state }: { isStanding: boolean; state: string }): boolean {
  return isStanding && state !== 'suppressed';
}
