/**
 * A reagent or dosing container that is to be filled.
 *
 * @param daysLeft   at the present use; null while nothing is used of it
 * @param limitDays  above 0
 */
export function isContainerLow(daysLeft: number | null, limitDays: number): boolean {
  return daysLeft !== null && daysLeft < limitDays;
}
