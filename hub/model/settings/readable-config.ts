import { stringify } from 'yaml';
import type { Config } from '../config/schema.ts';

const hidden = '(hidden)';
/** The name of a place where a secret is kept is none: `password_env`, `token_file`. */
const secretKey = /(password|passphrase|token|secret)(?!.*_(env|file)$)/;

/** The configuration in force as text, every default written out, for a person to read. No secret is ever in it. */
export function readableConfig(config: Config): string {
  return stringify(
    config,
    (key, value: unknown) => {
      if (typeof key === 'string' && secretKey.test(key) && typeof value !== 'object') return hidden;
      return typeof value === 'string' ? withoutSecretsOfUrl(value) : value;
    },
    { lineWidth: 0 },
  );
}

/** An address may carry a user with a password before its host, and a token behind a question mark. */
function withoutSecretsOfUrl(text: string): string {
  if (!/^[a-z][a-z0-9+.-]*:\/\//i.test(text)) return text;
  return text.replace(/\/\/[^/]*@/, `//${hidden}@`).replace(/[?#].*$/, `?${hidden}`);
}
