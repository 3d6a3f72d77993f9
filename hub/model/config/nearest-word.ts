/**
 * The known word that a person most likely meant, or undefined when none is near: at most a third of its letters may
 * differ, by insertion, deletion, replacement or a swap of two neighbours.
 */
export function nearestWord(found: string, known: readonly string[]): string | undefined {
  const typed = fold(found).slice(0, 80);
  let nearest: string | undefined;
  let nearestDistance = Number.POSITIVE_INFINITY;
  for (const word of known) {
    const distance = editDistance(typed, fold(word));
    const most = Math.min(word.length - 1, Math.max(1, Math.floor(word.length / 3)));
    if (distance < nearestDistance && distance <= most) {
      nearest = word;
      nearestDistance = distance;
    }
  }
  return nearest;
}

/** `volumeL`, `Volume-L` and `volume l` are all near `volume_l`. */
function fold(word: string): string {
  return word
    .replace(/([a-z0-9])([A-Z])/g, '$1_$2')
    .toLowerCase()
    .replace(/[\s-]+/g, '_');
}

/** @source optimal string alignment distance (Damerau 1964, Levenshtein 1966) */
function editDistance(left: string, right: string): number {
  let twoAbove: number[] = [];
  let above = Array.from({ length: right.length + 1 }, (_, column) => column);
  for (let row = 1; row <= left.length; row++) {
    const current = [row];
    for (let column = 1; column <= right.length; column++) {
      const isSame = left[row - 1] === right[column - 1];
      let least = Math.min(above[column]! + 1, current[column - 1]! + 1, above[column - 1]! + (isSame ? 0 : 1));
      if (row > 1 && column > 1 && left[row - 1] === right[column - 2] && left[row - 2] === right[column - 1]) {
        least = Math.min(least, twoAbove[column - 2]! + 1);
      }
      current.push(least);
    }
    twoAbove = above;
    above = current;
  }
  return above[right.length]!;
}
