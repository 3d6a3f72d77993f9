import type { FastifyBaseLogger } from 'fastify';
import type { Store } from '#adapters/ports/store.ts';
import type { Entries } from '../flow/entries/enter.ts';
import type { Secrets } from '../model/config/edge-choices.ts';
import type { ConfigFile } from '../model/settings/config-file.ts';

export type HubOptions = {
  pageDir: string;
  log: FastifyBaseLogger;
  secrets: Secrets;
  /** The demo marks its room as invented. */
  isInvented: boolean;
  /** For tests: an answer that is not of the contract is refused. Else it is logged and sent. */
  areAnswersChecked?: boolean;
  /** The file that the configuration was read from; the demo has none. */
  configFile?: ConfigFile;
  /** Called when the store works and before the first probe is listened to. */
  beforeProbes?: (store: Store) => void;
};

export type Hub = {
  url: string;
  /** Why the page is on this machine alone, although the configuration wants more. */
  refused: string | undefined;
  /** Of the hub's own broker; undefined with an outside one. */
  brokerPort: number | undefined;
  entries: Entries;
  store: Store;
  stop(): Promise<void>;
};
