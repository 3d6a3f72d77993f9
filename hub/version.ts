import { readFileSync } from 'node:fs';

/** The package's own version, wherever the built files lie below it. */
export const version: string = (() => {
  for (const up of ['../package.json', '../../package.json']) {
    try {
      const found = JSON.parse(readFileSync(new URL(up, import.meta.url), 'utf8')) as { name: string; version: string };
      if (found.name === 'brinekeep') return found.version;
    } catch {
      // The other place is tried: sources lie one folder below package.json, built files two.
    }
  }
  return '0.0.0';
})();
