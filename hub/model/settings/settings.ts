import type { Store } from '#adapters/ports/store.ts';
import { isMetric, type Metric, metricFacts } from '#rules/quantity/metric.ts';
import { isDisplayUnit } from '#rules/words/value-text.ts';
import type { Config } from '../config/schema.ts';
import { append, type NewEntry } from '../journal/journal.ts';
import { Refused } from '../refusals/refused.ts';
import { effectiveConfig } from './effective-config.ts';
import { type Settings, type SettingsChange, settingsSchema } from './settings-schema.ts';

const documentName = 'settings';

export type SettingsMemory = {
  /** The configuration of the file. */
  file: Config;
  /** What was chosen in the page. */
  chosen(): Settings;
  /** What holds: the file's values with the chosen ones over them. */
  effective(): Config;
  /**
   * Stored with its note before it holds; a change that changes nothing is not noted.
   *
   * @throws Refused  nothing was changed
   */
  change(change: SettingsChange, nowMs: number): void;
  /** Called with what holds, after each change is on disk. */
  onChange(listener: (effective: Config) => void): void;
};

export type SettingsDeps = {
  config: Config;
  store: Pick<Store, 'commit' | 'document' | 'journal'>;
  /** What is stored cannot be read; the file's values hold. */
  unreadable(): void;
};

/**
 * Settings that are changed in the page. The configuration file is never written: what is chosen is a document in the store
 * that lies over the file's values.
 */
export function createSettings({ config, store, unreadable }: SettingsDeps): SettingsMemory {
  const listeners: ((effective: Config) => void)[] = [];
  let chosen = restored(store.document(documentName), unreadable);
  let effective = effectiveConfig(config, chosen);

  return {
    file: config,
    chosen: () => chosen,
    effective: () => effective,
    change(change, nowMs) {
      refuseUnknownUnits(change);
      const next = withChange(chosen, change);
      if (JSON.stringify(next) === JSON.stringify(chosen)) return;
      append(store, noteOf(change, config, nowMs), { documents: [{ name: documentName, body: JSON.stringify(next) }] });
      chosen = next;
      effective = effectiveConfig(config, chosen);
      for (const listener of listeners) listener(effective);
    },
    onChange: (listener) => void listeners.push(listener),
  };
}

function restored(body: string | undefined, unreadable: () => void): Settings {
  if (body !== undefined) {
    try {
      return withoutUnknownUnits(settingsSchema.parse(JSON.parse(body)));
    } catch {
      unreadable();
    }
  }
  return settingsSchema.parse({});
}

/** A unit that an older version knew must not stop the rules from speaking. */
function withoutUnknownUnits(settings: Settings): Settings {
  const known = unitsIn(settings.display_units).filter(
    ([metric, unit]) => unit !== null && isDisplayUnit(metric, unit),
  );
  return { ...settings, display_units: Object.fromEntries(known) as Settings['display_units'] };
}

function unitsIn(units: SettingsChange['display_units']): [metric: Metric, unit: string | null][] {
  return Object.entries(units).flatMap(([metric, unit]) =>
    isMetric(metric) && unit !== undefined ? [[metric, unit] as [Metric, string | null]] : [],
  );
}

function refuseUnknownUnits(change: SettingsChange): void {
  for (const [metric, unit] of unitsIn(change.display_units)) {
    if (unit === null || isDisplayUnit(metric, unit)) continue;
    throw new Refused('unknown_unit', `${metricFacts[metric].label} cannot be shown in "${unit}"`);
  }
}

function withChange(settings: Settings, change: SettingsChange): Settings {
  const units = new Map<string, string>(Object.entries(settings.display_units));
  for (const [metric, unit] of unitsIn(change.display_units)) {
    if (unit === null) units.delete(metric);
    else units.set(metric, unit);
  }
  const quiet = { ...settings.quiet_hours };
  for (const priority of ['medium', 'low'] as const) {
    const window = change.quiet_hours[priority];
    if (window === null) delete quiet[priority];
    else if (window !== undefined) quiet[priority] = window;
  }
  return { display_units: Object.fromEntries(units) as Settings['display_units'], quiet_hours: quiet };
}

function noteOf(change: SettingsChange, file: Config, nowMs: number): NewEntry<'note'> {
  const words = [
    ...unitsIn(change.display_units).map(([metric, unit]) => {
      const shown = unit ?? file.display_units[metric] ?? metricFacts[metric].unit;
      return `${metricFacts[metric].label} in ${shown || 'its own number'}${unit === null ? ' (from the configuration file)' : ''}`;
    }),
    ...(['medium', 'low'] as const).flatMap((priority) => {
      const window = change.quiet_hours[priority];
      if (window === undefined) return [];
      const { from, to } = window ?? file.notices.quiet_hours[priority];
      return [`quiet hours for ${priority} ${from} to ${to}${window === null ? ' (from the configuration file)' : ''}`];
    }),
  ];
  const { by, ...asked } = change;
  // It is about the room and not about one system.
  const body = { note: `settings: ${words.join('; ')}`, about: 'settings', by, ...asked };
  return { kind: 'note', timeMs: nowMs, recordedMs: nowMs, system: '', body };
}
