// The real programs that the tests run against: which there are, how to see that they are here, which Debian package
// brings them. One list for the preparation before the tests and for the tests themselves.
import { spawnSync } from 'node:child_process';

export const parts = {
  mosquitto: { package: 'mosquitto', probe: ['mosquitto', '-h'] },
  mosquitto_pub: { package: 'mosquitto-clients', probe: ['mosquitto_pub', '--help'] },
  socat: { package: 'socat', probe: ['socat', '-V'] },
  influxd: { package: 'influxdb', probe: ['influxd', 'version'] },
  'victoria-metrics': { package: 'victoria-metrics', probe: ['victoria-metrics', '-version'] },
  chromium: { package: 'chromium', probe: ['chromium', '--version'] },
  'systemd-notify': { package: 'systemd', probe: ['systemd-notify', '--version'] },
  'systemd-analyze': { package: 'systemd', probe: ['systemd-analyze', '--version'] },
  openssl: { package: 'openssl', probe: ['openssl', 'version'] },
  curl: { package: 'curl', probe: ['curl', '--version'] },
  shellcheck: { package: 'shellcheck', probe: ['shellcheck', '--version'] },
  sshd: { package: 'openssh-server', probe: ['/usr/sbin/sshd', '-V'] },
  rsync: { package: 'rsync', probe: ['rsync', '--version'] },
  gcc: { package: 'build-essential', probe: ['gcc', '--version'] },
  gsw: { package: 'python3-gsw', probe: ['/usr/bin/python3', '-c', 'import gsw'] },
  prometheus_client: {
    package: 'python3-prometheus-client',
    probe: ['/usr/bin/python3', '-c', 'import prometheus_client.openmetrics.parser'],
  },
};

/** True when the program starts: exit codes differ, "no such program" and a failed Python import do not lie. */
export function isHere(name) {
  const [command, ...args] = parts[name].probe;
  const run = spawnSync(command, args, { stdio: 'ignore', timeout: 60_000 });
  return run.error === undefined && (!command.endsWith('python3') || run.status === 0);
}

/** For `describe.skipIf`: says loudly what is skipped, and in CI refuses to skip anything. */
export function isMissing(name) {
  if (isHere(name)) return false;
  const text = `${name} is not installed (Debian package ${parts[name].package})`;
  if (process.env['CI'] === 'true') throw new Error(`${text}: nothing is skipped in CI`);
  process.stderr.write(`\nSKIPPED: ${text}; every test that needs it is left out.\n`);
  return true;
}
