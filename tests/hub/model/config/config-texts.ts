import { loadConfig } from '#hub/model/config/load.ts';

/** The smallest useful file of the documentation. */
export const smallest = `site: {name: Fish room, timezone: Europe/Lisbon}
systems:
  - id: display
    name: Display tank
    volume_l: 420
    bands:
      temperature: {low: 25.0, high: 26.5, most_per_hour: 0.5, most_per_day: 1.0}
      ph:          {low: 7.85, high: 8.45}
      salinity:    {low: 34.0, high: 36.0, most_per_day: 0.5}
      alkalinity:  {low: 7.5, high: 9.0, most_per_day: 0.5}
`;

/** An invented room that uses every block of the file. */
export const withProbes = `site: {name: Fish room, timezone: Europe/Lisbon}
data_dir: /var/lib/room
flush_seconds: 10
keep_readings_days: 400
http: {host: 127.0.0.1, port: 8740}
mqtt:
  url: mqtt://192.0.2.7:1883
  protocol: "5"
  client_id: room
  username: hub
  password_env: BROKER_PASSWORD
  prefix: room
broker: {host: 127.0.0.1, port: 1883, most_clients: 20, most_message_bytes: 65536}
influx:
  url: http://192.0.2.8:8086
  api: v2
  org: home
  bucket: room
  token_file: /run/secrets/token
  most_waiting_batches: 1000
weekly: {dir: ./weekly}
systems:
  - id: display
    name: Display tank
    volume_l: 420
    bands:
      temperature: {low: 25.0, high: 26.5, most_per_hour: 0.5, most_per_day: 1.0}
      alkalinity: {low: 7.5, high: 9.0, most_per_day: 0.5}
    stocks:
      - id: soda
        name: Soda ash
        substance: sodium_carbonate
        grams_per_litre: 50
        container_ml: 2000
        most_ml_per_day_per_100_l: 40
      - id: bottle
        name: Bought
        substance: own_strength
        raises: calcium
        raises_100_l_by_per_ml: 0.5
    standing_plan:
      - {stock: soda, ml_per_day: 60, times_per_day: 12}
    highest_ph_after_dose: 8.5
    test_every_days: {alkalinity: 2, calcium: 7}
serial:
  - id: bench
    path: /dev/serial/by-id/bench
    baud: 9600
    data_bits: 8
    parity: none
    stop_bits: 1
    line_end: crlf
    format: csv
    columns: [temp, "-", cond]
    separator: ";"
probes:
  - id: temp
    system: display
    metric: temperature
    name: Return chamber
    serial: {port: bench, channel: temp}
    unit: "°F"
    every_seconds: 5
    calibration: {slope: 1, offset: -0.1, date: 2026-03-01}
  - id: cond
    system: display
    metric: conductivity
    serial: {port: bench, channel: cond}
    compensation_percent_per_C: 2
    temperature_probe: temp
    temperature_at_most_seconds_old: 60
  - id: ph1
    system: display
    metric: ph
    mqtt: {topic: display/ph, format: json, channel: water.ph, time_path: at}
    ph_scale: nbs
rules:
  - {rule: out_of_band, system: display, metric: temperature, enabled: true, priority: high, on_delay_minutes: 2, off_delay_minutes: 5.5, deadband: 0.1, gap_tolerance_minutes: 15, re_alarm_minutes: 60}
`;

export function noFiles(path: string): string {
  throw new Error(`no file ${path}`);
}

/** The problems of a text that must not load. */
export function problemsOf(text: string) {
  const loaded = loadConfig(text, 'config.yaml', {}, noFiles);
  if (loaded.ok) throw new Error('the text loads');
  return loaded.problems;
}
