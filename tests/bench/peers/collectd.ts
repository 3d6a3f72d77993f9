import { chmodSync, mkdirSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { band, tankCount } from '../excursions.ts';

/** Where a notice of collectd goes. */
export const collectdPhone = 'collectd/phone';

/** Only a user other than root may run what collectd starts. */
const user = 'nobody';

/**
 * A collectd that keeps each reading in CSV files and checks it against the band: collectd.conf(5), collectd-exec(5),
 * collectd-threshold(5), types.db(5). Its own MQTT plugin wants a topic and payload of its form, so mosquitto_sub(1) hands over the
 * readings of the room: `probes/t5` is the type `t5` of the plugin `probes`.
 *
 * @param dir  of its own, in a scratch folder
 * @returns the configuration file, for `collectd -f -C`
 */
export function writeCollectd(dir: string, brokerPort: number): string {
  const types = Array.from({ length: tankCount }, (_, tank) => `t${tank}`);
  const broker = `-h 127.0.0.1 -p ${brokerPort} -q 1`;
  const [csv, typesDb, hear, tell, config] = ['csv', 'types.db', 'hear', 'tell', 'collectd.conf'].map((name) =>
    join(dir, name),
  ) as [string, string, string, string, string];
  mkdirSync(csv);
  // Whoever runs the two programs must reach them.
  for (const each of [dir, dirname(dir)]) chmodSync(each, 0o755);
  writeFileSync(typesDb, types.map((type) => `${type} value:GAUGE:U:U\n`).join(''));
  writeFileSync(
    hear,
    `#!/bin/sh\nexec mosquitto_sub ${broker} -c -i collectd -t 'probes/+' -F 'PUTVAL "room/%t" interval=1 N:%p'\n`,
    { mode: 0o755 },
  );
  // A notification is headers, an empty line, and its text, which begins with host, plugin and type.
  writeFileSync(
    tell,
    `#!/bin/sh
while read -r name value && [ -n "$name" ]; do
  case $name in
    Severity:) [ "$value" = OKAY ] && exit 0 ;;
    Type:) tank=\${value#t} ;;
  esac
done
read -r text
exec mosquitto_pub ${broker} -t ${collectdPhone} -m "Tank <$tank>: $text"
`,
    { mode: 0o755 },
  );
  writeFileSync(
    config,
    `Hostname "room"
FQDNLookup false
Interval 1
BaseDir "${dir}"
PIDFile "${join(dir, 'pid')}"
TypesDB "${typesDb}"
LoadPlugin exec
LoadPlugin csv
LoadPlugin threshold
<Plugin exec>
  Exec "${user}" "${hear}"
  NotificationExec "${user}" "${tell}"
</Plugin>
<Plugin csv>
  DataDir "${csv}"
  StoreRates false
</Plugin>
<Plugin threshold>
  <Plugin "probes">
${types.map((type) => `    <Type "${type}">\n      WarningMin ${band.low}\n      WarningMax ${band.high}\n    </Type>\n`).join('')}  </Plugin>
</Plugin>
`,
  );
  return config;
}
