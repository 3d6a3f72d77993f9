import { type Metric, metricFacts, metrics } from '#rules/quantity/metric.ts';
import { unitsOf } from '#rules/quantity/unit.ts';
import { type SettingsView, settingsApi } from '../api/settings.ts';
import type { HttpParts, TypedServer } from './parts.ts';

function unitsFor(metric: Metric): string[] {
  return [...unitsOf(metric), ...(metric === 'salinity' ? ['sg'] : [])];
}

export function addSettingsRoutes(server: TypedServer, { settings, clock }: HttpParts): void {
  function view(): SettingsView {
    const { file } = settings;
    const chosen = settings.chosen();
    const quietOf = (priority: 'medium' | 'low') => ({
      file: file.notices.quiet_hours[priority],
      chosen: chosen.quiet_hours[priority] ?? null,
    });
    return {
      timezone: file.site.timezone,
      units: metrics
        .filter((metric) => unitsFor(metric).length > 1)
        .map((metric) => ({
          metric,
          label: metricFacts[metric].label,
          units: unitsFor(metric),
          file: file.display_units[metric] ?? metricFacts[metric].unit,
          chosen: chosen.display_units[metric] ?? null,
        })),
      quiet_hours: { medium: quietOf('medium'), low: quietOf('low') },
    };
  }

  server.get('/api/settings', { schema: settingsApi['GET /api/settings'] }, view);

  server.post('/api/settings', { schema: settingsApi['POST /api/settings'] }, (request) => {
    settings.change(request.body, clock.nowMs());
    return view();
  });
}
