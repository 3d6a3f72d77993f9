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
  | 'zbarimg'
  | 'gcc'
  | 'python3'
  | 'gsw'
  | 'prometheus_client'
  | 'gnu';
export const parts: Record<PartName, { apt: string; brew?: string; at: string[]; probe: string[]; must?: boolean }>;
export function placeOf(name: PartName): string | undefined;
export function programAt(name: PartName): string;
export function howToHave(name: PartName): string;
export function isMissing(name: PartName): boolean;
