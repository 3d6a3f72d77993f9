/** What this device remembers for the person: convenience only, and never in the way when a browser forbids it. */

const prefix = 'brinekeep.';

export function recall(name: string): string | undefined {
  try {
    return localStorage.getItem(prefix + name) ?? undefined;
  } catch {
    return undefined;
  }
}

/** False when the device cannot keep it (private window, storage full). */
export function remember(name: string, text: string): boolean {
  try {
    localStorage.setItem(prefix + name, text);
    return true;
  } catch {
    return false;
  }
}

export function forget(name: string): void {
  try {
    localStorage.removeItem(prefix + name);
  } catch {
    // What could not be kept need not be removed.
  }
}

/** Names of what begins so, without the prefix of the page. */
export function rememberedNames(start: string): string[] {
  try {
    return Object.keys(localStorage)
      .filter((name) => name.startsWith(prefix + start))
      .map((name) => name.slice(prefix.length));
  } catch {
    return [];
  }
}
