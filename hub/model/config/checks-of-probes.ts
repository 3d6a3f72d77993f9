import { isUnitOf, unitsOf } from '#rules/quantity/unit.ts';
import { type ConfigPath, type Finding, showFound } from './config-problem.ts';
import { type CrossFindings, unknownId } from './known-ids.ts';
import { nearestWord } from './nearest-word.ts';
import type { SoundParts } from './sound-parts.ts';
import { givesSalinity } from './watched-room.ts';

type SoundProbe = NonNullable<NonNullable<SoundParts['probes']>[number]>;
type SoundPort = NonNullable<NonNullable<SoundParts['serial']>[number]>;

/** Probes that could never speak, that would take each other's numbers, or that lack what their salinity needs. */
export function probeFindings(config: SoundParts): CrossFindings {
  const problems: Finding[] = [...portFindings(config), ...sharedChannels(config)];
  const warnings: Finding[] = [];
  for (const [index, probe] of (config.probes ?? []).entries()) {
    if (probe === undefined) continue;
    const path = ['probes', index];
    problems.push(
      ...unknownId(probe.system, config.systems, [...path, 'system'], 'system'),
      ...wireFindings(probe, path),
      ...loopFindings(probe, config, path),
      ...unitFindings(probe, path),
      ...serialFindings(probe, config, path),
      ...temperatureProbeFindings(probe, config, path),
    );
    warnings.push(...salinityWarnings(probe, config, path), ...electrodeWarnings(probe, path));
    if (probe.mqtt?.time_path !== undefined && (probe.mqtt.format ?? 'number') !== 'json') {
      const need = 'time_path only with format: json; it is not used here';
      warnings.push({ path: [...path, 'mqtt', 'time_path'], found: showFound(probe.mqtt.time_path), need });
    }
  }
  return { problems, warnings };
}

function portFindings(config: SoundParts): Finding[] {
  return (config.serial ?? []).flatMap((port, index) => {
    if (port?.format !== 'csv' || (port.columns?.length ?? 0) > 0) return [];
    return [
      {
        path: ['serial', index, 'columns'],
        found: 'no columns',
        need: 'columns: the channel of each column, in order, with - for one to skip',
      },
    ];
  });
}

function wireFindings(probe: SoundProbe, path: ConfigPath): Finding[] {
  // `in` also counts a wire that is there but wrong: the schema tells of it already.
  const wires = (['serial', 'mqtt'] as const).filter((wire) => wire in probe).length;
  if (wires === 1) return [];
  const need = 'either serial: {port, channel} or mqtt: {topic, format, channel}';
  return [{ path, found: wires === 0 ? 'neither serial nor mqtt' : 'both serial and mqtt', need }];
}

/** A probe that listens to what the hub itself says would feed its own number back to itself for ever. */
function loopFindings(probe: SoundProbe, config: SoundParts, path: ConfigPath): Finding[] {
  const prefix = config.mqtt?.prefix ?? 'brinekeep';
  const topic = probe.mqtt?.topic;
  if (topic === undefined || !topic.startsWith(`${prefix}/readings/`)) return [];
  const need = `a topic that a probe writes; below ${prefix}/readings the hub itself writes`;
  return [{ path: [...path, 'mqtt', 'topic'], found: showFound(topic), need }];
}

function unitFindings({ metric: of, unit, signal }: SoundProbe, path: ConfigPath): Finding[] {
  // The potential of an electrode counts as a redox potential does.
  const isPotential = of === 'ph' && signal === 'mV';
  const metric = isPotential ? 'orp' : of;
  if (metric === undefined || unit === undefined || isUnitOf(metric, unit)) return [];
  const units = unitsOf(metric).filter((name) => name !== '');
  const nearest = nearestWord(unit, units);
  const need =
    units.length === 0
      ? `no unit: ${metric} is a pure number`
      : `a unit of ${isPotential ? 'a potential' : metric}: ${units.join(', ')}`;
  const hint = nearest === undefined ? {} : { hint: `Did you mean ${nearest}?` };
  return [{ path: [...path, 'unit'], found: showFound(unit), need, ...hint }];
}

function serialFindings(probe: SoundProbe, config: SoundParts, path: ConfigPath): Finding[] {
  const port = portOf(probe, config);
  const unknown = unknownId(probe.serial?.port, config.serial, [...path, 'serial', 'port'], 'serial port');
  if (port?.format !== 'csv' || port.columns === undefined || port.columns.length === 0) return unknown;
  const channels = port.columns.filter((column) => column !== undefined && column !== '-') as string[];
  const channel = probe.serial?.channel ?? '';
  if (port.columns.includes(undefined) || channels.includes(channel)) return unknown;
  const nearest = nearestWord(channel, channels);
  const hint = nearest === undefined ? {} : { hint: `Did you mean ${nearest}?` };
  const need = `one of the columns of ${port.id}: ${channels.join(', ')}`;
  return [...unknown, { path: [...path, 'serial', 'channel'], found: showFound(channel), need, ...hint }];
}

function portOf(probe: SoundProbe, config: SoundParts): SoundPort | undefined {
  const id = probe.serial?.port;
  return id === undefined ? undefined : config.serial?.find((port) => port?.id === id);
}

function sharedChannels(config: SoundParts): Finding[] {
  const firstAt = new Map<string, number>();
  return (config.probes ?? []).flatMap((probe, index) => {
    const { serial, mqtt } = probe ?? {};
    const wires: { key: string; path: ConfigPath; found: string }[] = [];
    if (serial?.port !== undefined) {
      const channel = serial.channel ?? '';
      const found = `port ${serial.port}, channel ${showFound(channel)}`;
      wires.push({ key: JSON.stringify(['serial', serial.port, channel]), path: ['probes', index, 'serial'], found });
    }
    if (mqtt?.topic !== undefined) {
      const channel = mqtt.channel ?? '';
      const found = `topic ${showFound(mqtt.topic)}, channel ${showFound(channel)}`;
      wires.push({ key: JSON.stringify(['mqtt', mqtt.topic, channel]), path: ['probes', index, 'mqtt'], found });
    }
    return wires.flatMap(({ key, path, found }) => {
      const first = firstAt.get(key);
      if (first === undefined) {
        firstAt.set(key, index);
        return [];
      }
      return [{ path, found, need: `a channel that no other probe reads (probes[${first}] reads it already)` }];
    });
  });
}

function temperatureProbeFindings(probe: SoundProbe, config: SoundParts, path: ConfigPath): Finding[] {
  const id = probe.temperature_probe;
  if (id === undefined) return [];
  const at = [...path, 'temperature_probe'];
  const named = config.probes?.find((other) => other?.id === id);
  if (named === undefined) return unknownId(id, config.probes, at, 'probe');
  if (named.metric !== undefined && named.metric !== 'temperature') {
    return [{ path: at, found: `${showFound(id)}, a probe of ${named.metric}`, need: 'a probe of temperature' }];
  }
  if (named.system !== undefined && probe.system !== undefined && named.system !== probe.system) {
    const need = `a temperature probe in the same water, ${probe.system}`;
    return [{ path: at, found: `${showFound(id)}, which is in ${named.system}`, need }];
  }
  return [];
}

function electrodeWarnings(probe: SoundProbe, path: ConfigPath): Finding[] {
  return (['signal', 'meter_temperature_C'] as const).flatMap((key) => {
    if (probe.metric === undefined || probe.metric === 'ph' || probe[key] === undefined) return [];
    const need = `this key only for a pH probe; it is not used for ${probe.metric}`;
    return [{ path: [...path, key], found: showFound(probe[key]), need }];
  });
}

function salinityWarnings(probe: SoundProbe, config: SoundParts, path: ConfigPath): Finding[] {
  if (probe.metric === undefined || !givesSalinity(probe.metric)) {
    return (['temperature_probe', 'compensation_percent_per_C'] as const).flatMap((key) => {
      if (probe.metric === undefined || probe[key] === undefined) return [];
      if (probe.metric === 'ph' && key === 'temperature_probe') return [];
      const need = `this key only for a conductivity probe; it is not used for ${probe.metric}`;
      return [{ path: [...path, key], found: showFound(probe[key]), need }];
    });
  }
  if (probe.temperature_probe !== undefined || probe.system === undefined) return [];
  const others = (config.probes ?? []).filter((other) => {
    // A probe whose system or metric is unreadable may be the one; the schema tells of it already.
    const isSystem = other?.system === undefined || other.system === probe.system;
    return other !== probe && isSystem && (other?.metric === undefined || other.metric === 'temperature');
  });
  if (others.length === 1) return [];
  if (others.length === 0) {
    const need = `a temperature probe in ${probe.system}: without one no salinity is computed`;
    return [{ path, found: 'a conductivity probe alone', need }];
  }
  const need = `temperature_probe: the one in the same water. Until then the first of them is used: ${others[0]?.id}`;
  return [{ path, found: `${others.length} temperature probes in ${probe.system}`, need }];
}
