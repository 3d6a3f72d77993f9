import { alarmsReference } from './alarms-reference.ts';
import { configurationReference } from './configuration-reference.ts';
import { constantsReference } from './constants-reference.ts';
import { httpReference } from './http-reference.ts';
import { influxReference } from './influx-reference.ts';
import type { SaidByHub } from './live-hub.ts';
import { metricsReference } from './metrics-reference.ts';
import { mqttReference } from './mqtt-reference.ts';

/** Every file that is written by what the hub says of itself and by its schemas: path in the repository, text. */
export function generatedFiles({ document, metrics }: SaidByHub): Map<string, string> {
  return new Map([
    ['deploy/docs/alarms.md', alarmsReference()],
    ['deploy/docs/http.md', httpReference(document)],
    ['deploy/docs/mqtt.md', mqttReference()],
    ['deploy/docs/configuration.md', configurationReference()],
    ['deploy/docs/influxdb.md', influxReference()],
    ['deploy/docs/metrics.md', metricsReference(metrics)],
    ['deploy/docs/constants.md', constantsReference()],
  ]);
}
