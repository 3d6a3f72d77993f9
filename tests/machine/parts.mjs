// The real programs that the tests run against: where they may lie, how to see that they work, which package brings them. One
// list for the preparation before the tests and for the tests themselves.
import { spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { delimiter, join } from 'node:path';

const pythons = ['/usr/bin/python3', 'python3'];
const chromiums = [
  ...['chromium', 'chromium-browser', 'google-chrome', '/Applications/Chromium.app/Contents/MacOS/Chromium'],
  '/Applications/Google Chrome.app/Contents/MacOS/Google Chrome',
];
const sshds = ['/usr/sbin/sshd', '/usr/local/sbin/sshd', '/opt/homebrew/sbin/sshd'];

/** `must`: it counts only when the probe ends well, since a failed Python import starts as well. No `brew`: Linux alone has it. */
export const parts = {
  mosquitto: { apt: 'mosquitto', brew: 'mosquitto', at: ['mosquitto', '/usr/sbin/mosquitto'], probe: ['-h'] },
  mosquitto_pub: { apt: 'mosquitto-clients', brew: 'mosquitto', at: ['mosquitto_pub'], probe: ['--help'] },
  socat: { apt: 'socat', brew: 'socat', at: ['socat'], probe: ['-V'] },
  influxd: { apt: 'influxdb', at: ['influxd'], probe: ['version'] },
  'victoria-metrics': {
    ...{ apt: 'victoria-metrics', brew: 'victoriametrics', at: ['victoria-metrics'], probe: ['-version'] },
  },
  chromium: { apt: 'chromium', brew: '--cask chromium', at: chromiums, probe: ['--version'] },
  'systemd-notify': { apt: 'systemd', at: ['systemd-notify'], probe: ['--version'] },
  'systemd-analyze': { apt: 'systemd', at: ['systemd-analyze'], probe: ['--version'] },
  openssl: { apt: 'openssl', brew: 'openssl', at: ['openssl'], probe: ['version'] },
  curl: { apt: 'curl', brew: 'curl', at: ['curl'], probe: ['--version'] },
  shellcheck: { apt: 'shellcheck', brew: 'shellcheck', at: ['shellcheck'], probe: ['--version'] },
  sshd: { apt: 'openssh-server', brew: 'openssh', at: sshds, probe: ['-V'] },
  rsync: { apt: 'rsync', brew: 'rsync', at: ['rsync'], probe: ['--version'] },
  zbarimg: { apt: 'zbar-tools', brew: 'zbar', at: ['zbarimg'], probe: ['--version'] },
  gcc: { apt: 'build-essential', brew: 'gcc', at: ['gcc'], probe: ['--version'] },
  python3: { apt: 'python3', brew: 'python', at: pythons, probe: ['-c', ''], must: true },
  gsw: { apt: 'python3-gsw', at: pythons, probe: ['-c', 'import gsw'], must: true },
  prometheus_client: {
    ...{ apt: 'python3-prometheus-client', at: pythons, must: true },
    probe: ['-c', 'import prometheus_client.openmetrics.parser'],
  },
  // The scripts of deploy/ are for Debian: the options of these programs there.
  gnu: {
    apt: 'coreutils',
    at: ['bash'],
    probe: ['-c', 'stat -c %s / && cp --version && command -v setsid flock'],
    must: true,
  },
};

const known = new Map();

/** Where the program lies that works, tried in the order of the list; undefined when none does. */
export function placeOf(name) {
  if (!known.has(name)) {
    const { at, probe, must } = parts[name];
    const works = (command) => {
      const run = spawnSync(command, probe, { stdio: 'ignore', timeout: 60_000 });
      return run.error === undefined && (must !== true || run.status === 0);
    };
    const place = at.find(works);
    known.set(name, place === undefined ? undefined : whole(place));
  }
  return known.get(name);
}

/** With its folder: who starts a browser by its place does not look along the path. */
function whole(command) {
  if (command.includes('/')) return command;
  const folders = (process.env.PATH ?? '').split(delimiter);
  return folders.map((folder) => join(folder, command)).find((place) => existsSync(place)) ?? command;
}

/** The same for who has seen that it is there. */
export function programAt(name) {
  const place = placeOf(name);
  if (place === undefined) throw new Error(`${name} is missing: ${howToHave(name)}`);
  return place;
}

/** How this platform's own packages bring it. */
export function howToHave(name) {
  const { apt, brew } = parts[name];
  if (process.platform !== 'darwin') return `sudo apt-get install ${apt}`;
  return brew === undefined ? 'there is no such package for this system' : `brew install ${brew}`;
}

/** For `describe.skipIf`: says loudly what is skipped, and in CI refuses to skip anything. */
export function isMissing(name) {
  if (placeOf(name) !== undefined) return false;
  if (process.env['CI'] === 'true')
    throw new Error(`${name} is missing and nothing is skipped in CI: ${howToHave(name)}`);
  process.stderr.write(
    `\nSKIPPED: ${name} is missing; every test that needs it is left out. To have it: ${howToHave(name)}\n`,
  );
  return true;
}
