/** Where the configuration says that a secret is kept. */
export type SecretPlace = { environmentName?: string | undefined; file?: string | undefined };

export type ReadFile = (path: string) => string;

export type Environment = Readonly<Record<string, string | undefined>>;

export type SecretResult =
  | { kind: 'value'; secret: string }
  | { kind: 'none' }
  | { kind: 'unset'; environmentName: string }
  | { kind: 'unreadable'; file: string }
  | { kind: 'empty'; file: string };

/**
 * The secret itself, from the environment first and else from the file, whose line end does not belong to it.
 * `none` when the configuration names no place. A reason never holds any part of the secret.
 */
export function readSecret(place: SecretPlace, env: Environment, readFile: ReadFile): SecretResult {
  const { environmentName, file } = place;
  if (environmentName !== undefined) {
    const secret = Object.hasOwn(env, environmentName) ? env[environmentName] : undefined;
    return secret === undefined || secret === '' ? { kind: 'unset', environmentName } : { kind: 'value', secret };
  }
  if (file === undefined) return { kind: 'none' };
  let text: string;
  try {
    text = readFile(file);
  } catch {
    return { kind: 'unreadable', file };
  }
  const secret = text.replace(/\r?\n$/, '');
  return secret === '' ? { kind: 'empty', file } : { kind: 'value', secret };
}
