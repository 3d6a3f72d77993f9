import { type ConfigPath, type Finding, showFound } from './config-problem.ts';
import type { CrossFindings } from './known-ids.ts';
import { type Environment, type ReadFile, readSecret, type SecretPlace } from './secrets.ts';
import type { SoundParts } from './sound-parts.ts';

/** What the broker and the time-series server need: a whole address, secrets that can be read, none in the file itself. */
export function edgeFindings(config: SoundParts, env: Environment, readFile: ReadFile): CrossFindings {
  const { mqtt, influx } = config;
  const mqttSecret = { environmentName: mqtt?.password_env, file: mqtt?.password_file };
  const influxSecret = { environmentName: influx?.token_env, file: influx?.token_file };
  return {
    problems: [
      ...secretFindings(['mqtt'], 'password', mqttSecret, env, readFile),
      ...secretFindings(['influx'], 'token', influxSecret, env, readFile),
      ...certificateFindings(config, readFile),
      ...urlFindings(['mqtt', 'url'], mqtt?.url),
      ...urlFindings(['influx', 'url'], influx?.url),
      ...influxFindings(config),
    ],
    warnings: [],
  };
}

function secretFindings(
  block: ConfigPath,
  name: 'password' | 'token',
  place: SecretPlace,
  env: Environment,
  readFile: ReadFile,
): Finding[] {
  if (place.environmentName !== undefined && place.file !== undefined) {
    const need = `only one of ${name}_env and ${name}_file`;
    return [{ path: [...block, `${name}_file`], isAboutKey: true, found: 'both', need }];
  }
  const result = readSecret(place, env, readFile);
  switch (result.kind) {
    case 'unset': {
      // Somebody who wrote the secret here by mistake must not find it in a log.
      const isName = /^[A-Z_][A-Z0-9_]*$/.test(result.environmentName);
      const found = isName
        ? `${result.environmentName}, which is not set`
        : 'what is no name of a set variable (hidden)';
      const need = 'the name of an environment variable that holds the secret';
      return [{ path: [...block, `${name}_env`], found, need }];
    }
    case 'unreadable':
    case 'empty': {
      const why = result.kind === 'empty' ? 'which is empty' : 'which cannot be read';
      const need = `a file that holds the ${name} and that the hub may read`;
      return [{ path: [...block, `${name}_file`], found: `${showFound(result.file)}, ${why}`, need }];
    }
    default:
      return [];
  }
}

function certificateFindings(config: SoundParts, readFile: ReadFile): Finding[] {
  const findings: Finding[] = [];
  for (const key of ['ca_file', 'cert_file', 'key_file'] as const) {
    const file = config.mqtt?.[key];
    if (file === undefined) continue;
    const result = readSecret({ file }, {}, readFile);
    if (result.kind === 'value') continue;
    const found = `${showFound(file)}, which cannot be read or is empty`;
    findings.push({ path: ['mqtt', key], found, need: 'a PEM file that the hub may read' });
  }
  for (const [key, other] of [['cert_file', 'key_file'] as const, ['key_file', 'cert_file'] as const]) {
    if (config.mqtt?.[key] === undefined || config.mqtt[other] !== undefined) continue;
    findings.push({ path: ['mqtt', key], isAboutKey: true, found: `${key} alone`, need: `${other} beside it` });
  }
  return findings;
}

function urlFindings(path: ConfigPath, url: string | undefined): Finding[] {
  if (url === undefined) return [];
  if (!URL.canParse(url)) return [{ path, found: showFound(url), need: 'a whole URL' }];
  const { username, password } = new URL(url);
  if (username === '' && password === '') return [];
  const name = path[0] === 'influx' ? 'token' : 'password';
  return [
    {
      path,
      found: 'a name or password inside the URL (hidden)',
      need: 'the URL alone, the name in username:, the secret outside this file',
      hint: `Write ${name}_env: NAME or ${name}_file: PATH. Then change the secret: it has been seen.`,
    },
  ];
}

function influxFindings(config: SoundParts): Finding[] {
  const { influx } = config;
  if (influx === undefined) return [];
  const findings: Finding[] = [];
  if ((influx.api ?? 'v2') === 'v1') {
    if (influx.database === undefined) {
      findings.push({ path: ['influx', 'database'], found: 'nothing', need: 'database: NAME for api: v1' });
    }
    return findings;
  }
  for (const key of ['org', 'bucket'] as const) {
    if ((influx[key] ?? '') === '') {
      const hint = influx.database === undefined ? {} : { hint: 'For a server with databases write api: v1.' };
      findings.push({ path: ['influx', key], found: 'nothing', need: `${key}: NAME for api: v2`, ...hint });
    }
  }
  return findings;
}
