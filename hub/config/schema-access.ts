import { z } from 'zod';

/** Who may come in: by the page and its API, and by the hub's own broker. Secrets are named here and never written here. */

/** As a person types it behind http://, without scheme, port or path. */
const hostName = z
  .string()
  .max(253)
  .regex(
    /^[a-z0-9]([a-z0-9-]*[a-z0-9])?(\.[a-z0-9]([a-z0-9-]*[a-z0-9])?)*$/,
    'a host name or address alone, such as reef.home.arpa, in small letters',
  );

const pemFile = z.string().min(1).max(1000);

export const httpSchema = z.strictObject({
  /** Beyond this machine only when a passphrase is set; until then the hub stays on loopback. */
  host: z.string().min(1).max(253).default('127.0.0.1'),
  port: z.int().min(0).max(65_535).default(8740),
  /** Names by which the page is opened, beside this machine's own; under another the hub does not answer. */
  names: z.array(hostName).max(20).default([]),
  /** PEM files, the certificate with its chain: the page is then at https://. Read when the hub starts. */
  cert_file: pemFile.optional(),
  key_file: pemFile.optional(),
});

export const accessSchema = z.strictObject({
  /** Hashes of the passphrase and of the tokens; `access.json` in the data folder unless given. */
  file: z.string().min(1).max(1000).optional(),
  /** A sign-in that nobody used for so long is over. */
  session_idle_days: z.number().min(0.01).max(365).default(30),
});

const brokerUserSchema = z.strictObject({
  name: z
    .string()
    .regex(/^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$/, 'letters, digits, . _ and -, at most 40, the first a letter or digit'),
  /** A probe publishes readings, a phone reads notices and gives commands. */
  role: z.enum(['probe', 'phone']),
  password_env: z.string().min(1).optional(),
  /** Holds the password, or its hash as `brinekeep passphrase --print-hash` prints it. */
  password_file: z.string().min(1).optional(),
});

export const brokerSchema = z.strictObject({
  /** Beyond this machine only with `users`. */
  host: z.string().min(1).max(253).default('127.0.0.1'),
  port: z.int().min(0).max(65_535).default(1883),
  most_clients: z.int().min(1).max(10_000).default(200),
  most_message_bytes: z.int().min(256).max(10_485_760).default(262_144),
  /** PEM files: every client then speaks TLS. */
  cert_file: pemFile.optional(),
  key_file: pemFile.optional(),
  /** Absent: whoever is on this machine may publish and read. */
  users: z.array(brokerUserSchema).max(200).default([]),
});
