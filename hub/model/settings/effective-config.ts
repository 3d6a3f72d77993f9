import type { Config } from '../config/schema.ts';
import type { Settings } from './settings-schema.ts';

/** The configuration in force: what was chosen in the page lies over what the file says. Neither is changed. */
export function effectiveConfig(file: Config, settings: Settings): Config {
  const { medium, low } = settings.quiet_hours;
  const { quiet_hours } = file.notices;
  return {
    ...file,
    display_units: { ...file.display_units, ...settings.display_units },
    notices: { ...file.notices, quiet_hours: { medium: medium ?? quiet_hours.medium, low: low ?? quiet_hours.low } },
  };
}
