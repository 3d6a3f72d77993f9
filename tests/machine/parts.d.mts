export type PartName =
  | 'mosquitto'
  | 'mosquitto_pub'
  | 'socat'
  | 'influxd'
  | 'victoria-metrics'
  | 'chromium'
  | 'systemd-notify'
  | 'systemd-analyze'
  | 'openssl'
  | 'curl'
  | 'shellcheck'
  | 'sshd'
  | 'rsync'
  | 'gcc'
  | 'gsw'
  | 'prometheus_client';
export const parts: Record<PartName, { package: string; probe: string[] }>;
export function isHere(name: PartName): boolean;
export function isMissing(name: PartName): boolean;
