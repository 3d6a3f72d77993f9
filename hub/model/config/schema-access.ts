import * as z from 'zod';

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
  host: z
    .string()
    .min(1)
    .max(253)
    .default('127.0.0.1')
    .describe('Beyond this machine only when a passphrase is set; until then the hub stays on loopback.'),
  port: z.int().min(0).max(65_535).default(8740),
  names: z
    .array(hostName)
    .max(20)
    .default([])
    .describe("Names by which the page is opened, beside this machine's own; under another the hub does not answer."),
  most_connections: z
    .int()
    .min(20)
    .max(10_000)
    .default(500)
    .describe(
      'Connections that are open at once; one more takes the place of the oldest that waits for its sender. An open page takes up to seven.',
    ),
  cert_file: pemFile
    .optional()
    .describe('PEM files, the certificate with its chain: the page is then at https://. Read when the hub starts.'),
  key_file: pemFile.optional(),
});

export const accessSchema = z.strictObject({
  file: z
    .string()
    .min(1)
    .max(1000)
    .optional()
    .describe('Hashes of the passphrase and of the tokens; `access.json` in the data folder unless given.'),
  session_idle_days: z
    .number()
    .min(0.01)
    .max(365)
    .default(30)
    .describe('A sign-in that nobody used for so long is over.'),
});

const brokerUserSchema = z.strictObject({
  name: z
    .string()
    .regex(/^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$/, 'letters, digits, . _ and -, at most 40, the first a letter or digit'),
  role: z.enum(['probe', 'phone']).describe('A probe publishes readings, a phone reads notices and gives commands.'),
  password_env: z.string().min(1).optional(),
  password_file: z
    .string()
    .min(1)
    .optional()
    .describe('Holds the password, or its hash as `brinekeep passphrase --print-hash` prints it.'),
});

export const brokerSchema = z.strictObject({
  host: z.string().min(1).max(253).default('127.0.0.1').describe('Beyond this machine only with `users`.'),
  port: z.int().min(0).max(65_535).default(1883),
  most_clients: z.int().min(1).max(10_000).default(200),
  most_message_bytes: z.int().min(256).max(10_485_760).default(262_144),
  cert_file: pemFile.optional().describe('PEM files: every client then speaks TLS.'),
  key_file: pemFile.optional(),
  this_machine_without_password: z
    .boolean()
    .default(false)
    .describe('With `users`: boards and programs on this machine, at 127.0.0.1, still need none of them.'),
  users: z
    .array(brokerUserSchema)
    .max(200)
    .default([])
    .describe('Absent: whoever is on this machine may publish and read.'),
});
