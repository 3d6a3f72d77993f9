import { analytes, type Metric, metricFacts, metrics } from '#rules/quantity/metric.ts';
import { type ConfigurationView, configurationApi, type EditableField } from '../api/configuration.ts';
import type { Config } from '../model/config/schema.ts';
import { Refused } from '../model/refusals/refused.ts';
import { type ConfigChanges, createConfigChanges } from '../model/settings/config-changes.ts';
import { readableConfig } from '../model/settings/readable-config.ts';
import type { HttpParts, TypedServer } from './parts.ts';

export function addConfigurationRoutes(server: TypedServer, { settings, configFile, store, clock }: HttpParts): void {
  const changes = configFile === undefined ? undefined : createConfigChanges({ file: configFile, store });

  function changesOrRefuse(): ConfigChanges {
    if (changes === undefined)
      throw new Refused('not_known', 'the hub runs without a configuration file: there is none to change');
    return changes;
  }

  function editableNow(): ConfigurationView['editable'] {
    const now = changes?.now();
    if (changes === undefined || now === undefined) return null;
    const last = changes.lastChange();
    return {
      seen: now.seen,
      groups: groupsOf(now.config),
      last_change: last === undefined ? null : { time: new Date(last.timeMs).toISOString(), by: last.by },
      starts_again: configFile?.startAgain !== undefined,
    };
  }

  server.get(
    '/api/configuration',
    {
      // It names paths, users and addresses, which is more than whoever may look at the water needs.
      config: { scope: 'admin' },
      schema: configurationApi['GET /api/configuration'],
    },
    (): ConfigurationView => {
      const { display_units, quiet_hours } = settings.chosen();
      return {
        path: configFile?.path ?? null,
        text: readableConfig(settings.effective()),
        chosen_in_page: [
          ...Object.keys(display_units).map((metric) => `display_units.${metric}`),
          ...Object.keys(quiet_hours).map((priority) => `notices.quiet_hours.${priority}`),
        ],
        file: configFile?.look() ?? null,
        editable: editableNow(),
      };
    },
  );

  server.post(
    '/api/configuration/preview',
    { schema: configurationApi['POST /api/configuration/preview'] },
    (request) => changesOrRefuse().preview(request.body.changes, request.body.seen),
  );

  server.post(
    '/api/configuration/change',
    { schema: configurationApi['POST /api/configuration/change'] },
    (request, reply) => {
      const { changes, seen, by: who } = request.body;
      changesOrRefuse().change(changes, seen, who, clock.nowMs());
      void reply.code(204);
      return null;
    },
  );

  server.post(
    '/api/configuration/back',
    { schema: configurationApi['POST /api/configuration/back'] },
    (request, reply) => {
      changesOrRefuse().goBack(request.body.seen, request.body.by, clock.nowMs());
      void reply.code(204);
      return null;
    },
  );
}

type Group = NonNullable<ConfigurationView['editable']>['groups'][number];

/** What may be changed, with what the file says of it, in the words of the page. */
function groupsOf(config: Config): Group[] {
  const { medium, low } = config.notices.quiet_hours;
  const time = (path: string, label: string, value: string): EditableField => ({
    path: `notices.quiet_hours.${path}`,
    label,
    unit: '',
    kind: 'time',
    value,
  });
  const probes = config.probes.map(({ id, name }): EditableField => {
    return { path: `probes.${id}.name`, label: id, unit: '', kind: 'text', value: name ?? null };
  });
  return [
    ...config.systems.map((system) => groupOf(system)),
    ...(probes.length === 0 ? [] : [{ title: 'Probes', parts: [{ title: 'Names', fields: probes }] }]),
    {
      title: 'Quiet hours',
      parts: [
        {
          title: 'Act today (medium)',
          fields: [time('medium.from', 'From', medium.from), time('medium.to', 'To', medium.to)],
        },
        { title: 'Have a look (low)', fields: [time('low.from', 'From', low.from), time('low.to', 'To', low.to)] },
      ],
    },
  ];
}

function groupOf(system: Config['systems'][number]): Group {
  const at = `systems.${system.id}`;
  const number = (path: string, label: string, unit: string, value: number | undefined): EditableField => ({
    path: `${at}.${path}`,
    label,
    unit,
    kind: 'number',
    value: value ?? null,
  });
  const banded = metrics.filter((metric) => system.bands[metric] !== undefined || isUsual(metric));
  return {
    title: system.name,
    parts: [
      {
        title: 'System',
        fields: [
          { path: `${at}.name`, label: 'Name', unit: '', kind: 'text', value: system.name },
          number('volume_l', 'Volume, sump included', 'L', system.volume_l),
        ],
      },
      ...banded.map((metric) => {
        const band = system.bands[metric];
        const { label, unit } = metricFacts[metric];
        return {
          title: `Band of ${label.startsWith('p') ? label : label.toLowerCase()}`,
          fields: [
            number(`bands.${metric}.low`, 'Low', unit, band?.low),
            number(`bands.${metric}.high`, 'High', unit, band?.high),
            number(`bands.${metric}.most_per_hour`, 'Most in an hour', unit, band?.most_per_hour),
            number(`bands.${metric}.most_per_day`, 'Most in a day', unit, band?.most_per_day),
          ],
        };
      }),
      {
        title: 'Days between tests',
        fields: analytes.map((analyte) =>
          number(`test_every_days.${analyte}`, metricFacts[analyte].label, 'days', system.test_every_days[analyte]),
        ),
      },
      ...system.stocks.map((stock) => ({
        title: `Stock: ${stock.name}`,
        fields: [
          { path: `${at}.stocks.${stock.id}.name`, label: 'Name', unit: '', kind: 'text' as const, value: stock.name },
          ...(stock.substance === 'own_strength'
            ? [
                number(
                  `stocks.${stock.id}.raises_100_l_by_per_ml`,
                  '1 mL raises 100 L by',
                  stock.raises === undefined ? '' : metricFacts[stock.raises].unit,
                  stock.raises_100_l_by_per_ml,
                ),
              ]
            : [number(`stocks.${stock.id}.grams_per_litre`, 'Strength', 'g/L', stock.grams_per_litre)]),
          number(`stocks.${stock.id}.container_ml`, 'Container', 'mL', stock.container_ml),
        ],
      })),
    ],
  };
}

/** A band that most reef tanks have, offered also where the file has none. */
function isUsual(metric: Metric): boolean {
  return ['temperature', 'ph', 'salinity', 'alkalinity', 'calcium', 'magnesium', 'nitrate', 'phosphate'].includes(
    metric,
  );
}
