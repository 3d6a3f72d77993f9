/** Whoever started the hub and starts it again when it hangs. */
export type ServiceManager = {
  /** It wants a sign of life at least this often; undefined when nobody waits for one. */
  readonly watchdogMs: number | undefined;
  /** All is started. */
  ready(): void;
  /** The work goes on. */
  alive(): void;
  stopping(): void;
};
