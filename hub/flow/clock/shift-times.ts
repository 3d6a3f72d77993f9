/** Below this, UTC milliseconds of 1973, a number under a name in `Ms` is a duration. */
const leastTimeMs = 100_000_000_000;

export type Shift = {
  byMs: number;
  /** Only times from here on move: what is older was dated by another clock. */
  fromMs: number;
  /** What stands under these names stays as it is. */
  except: readonly string[];
};

/**
 * A copy of plain data in which all remembered moments have moved with the clock, so that what has passed since each of
 * them stays what it was. A moment is a number, or a list of them, under a name that ends in `Ms`, or under `latchings`.
 */
export function shiftedTimes<Document>(document: Document, shift: Shift): Document {
  return shifted(document, false, shift) as Document;
}

function shifted(value: unknown, isTime: boolean, shift: Shift): unknown {
  if (typeof value === 'number') {
    return isTime && value >= Math.max(leastTimeMs, shift.fromMs) ? value + shift.byMs : value;
  }
  if (Array.isArray(value)) return value.map((each) => shifted(each, isTime, shift));
  if (typeof value !== 'object' || value === null) return value;
  return Object.fromEntries(
    Object.entries(value).map(([name, inner]) => [
      name,
      shift.except.includes(name) ? inner : shifted(inner, name.endsWith('Ms') || name === 'latchings', shift),
    ]),
  );
}

/** What follows from a step of a clock that was trusted: everything that counts from a moment moves. */
export function shiftOfStep(byMs: number): Shift {
  return { byMs, fromMs: Number.NEGATIVE_INFINITY, except: datedByPeople };
}

/**
 * What follows from setting a clock that was not: only what this run has dated moves, and no end that a person has set; it
 * may have been set in another life, and to be judged too early is the safe side.
 */
export function shiftOfSetting(byMs: number, startedMs: number): Shift {
  return { byMs, fromMs: startedMs, except: [...datedByPeople, 'untilMs', 'shelvedUntilMs'] };
}

/** Tests, doses, calibrations and the habits of whole days: they belong to the time of day and not to this minute. */
const datedByPeople = ['analytes', 'calibrations', 'cycle'];
