import type { Config } from '../model/config/schema.ts';
import { Refused } from '../model/refusals/refused.ts';

/** Why the hub did not start, in a sentence with what to do; the error itself where it is a fault of ours. */
export function failedStart(error: unknown, config: Config): unknown {
  const code = error instanceof Error && 'code' in error ? error.code : undefined;
  const { host, port } = config.http;
  switch (code) {
    case 'EADDRINUSE':
      return new Refused(
        'not_done',
        `The page cannot open port ${port} on ${host}: another program has it, perhaps a hub that runs already. Stop that one (systemctl status brinekeep), or set another http.port.`,
      );
    case 'EACCES':
      return new Refused(
        'not_done',
        `The page may not open port ${port}: ports below 1024 need a privilege. Set http.port to 8080, for example.`,
      );
    case 'EADDRNOTAVAIL':
      return new Refused(
        'not_done',
        `The page cannot open ${host}: this machine has no such address. Correct http.host, or use 0.0.0.0.`,
      );
    case 'STORE_BUSY':
      return new Refused(
        'not_done',
        `The store in ${config.data_dir} is in use by another hub or program. Stop that one (systemctl status brinekeep), or set another data_dir.`,
      );
    default:
      return error;
  }
}
