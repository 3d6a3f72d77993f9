import * as z from 'zod';

const tags = ['phones'];

const name = z
  .string()
  .regex(/^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$/, 'letters, digits, . _ and -, at most 40, the first a letter or digit')
  .describe('of the phone: its user at the broker');
const by = z.string().min(1).max(60).default('page');

const place = {
  hosts: z.array(z.string()).describe('what a phone may call the broker, the likeliest first'),
  port: z.number(),
  tls: z.boolean(),
  topic: z.string().describe('where the lines for phones come, QoS 1'),
};

export const phonesView = z.object({
  broker: z.enum(['inside', 'outside']).describe('the one in the hub, or another program'),
  is_open: z.boolean().describe('it answers other machines'),
  ...place,
  phones: z.array(z.object({ name: z.string(), is_connected: z.boolean(), is_subscribed: z.boolean() })),
  boards: z.array(z.string()).describe('users that are boards'),
});

export const phoneAdded = z.object({
  ...place,
  user: z.string(),
  password: z.string().describe('shown only once: the hub keeps its hash'),
  address: z.string().describe('mqtt:// with the user and without the password'),
  address_with_password: z.string(),
  qr: z.string().describe('the address as a QR code, SVG'),
  qr_with_password: z.string(),
  changed: z
    .array(z.object({ is: z.enum(['out', 'in']), line: z.number(), text: z.string() }))
    .describe('lines of the configuration file'),
  warnings: z.array(z.string()),
  trouble: z.string().nullable().describe('why the broker cannot listen'),
});

export const phoneTried = z.object({
  result: z
    .enum([
      ...(['not_connected', 'not_subscribed', 'without_acknowledgement', 'not_acknowledged', 'received'] as const),
      'sent_outside',
    ])
    .describe(
      'received: the phone acknowledged it (QoS 1); sent_outside: to an outside broker, whose clients nobody sees',
    ),
});

export const phoneApi = {
  'GET /api/phones': {
    summary: 'Phones at the broker of the hub, and what a phone needs to connect',
    tags,
    response: { 200: phonesView },
  },
  'POST /api/phones': {
    summary: 'Make a user for a phone, with a password that is shown once; 409 unless the broker is or may be opened',
    tags,
    body: z.strictObject({
      name,
      by,
      open: z.boolean().default(false).describe('true: the broker may be opened to the home network'),
    }),
    response: { 201: phoneAdded },
  },
  'POST /api/phones/:name/test': {
    summary: 'Send a test line to this phone alone, and say whether it has it',
    tags,
    params: z.object({ name }),
    response: { 200: phoneTried },
  },
  'DELETE /api/phones/:name': {
    summary: "Remove a phone's user and end its connection; with the last user the broker is closed",
    tags,
    params: z.object({ name }),
    response: { 200: z.object({ is_closed: z.boolean() }) },
  },
  'POST /api/phones/close': {
    summary: 'Close the broker to the home network again; 409 where boards come in from there, unless even_boards',
    tags,
    body: z.strictObject({ by, even_boards: z.boolean().default(false) }),
    response: { 204: z.null() },
  },
};
