import { dayMs, hourMs } from '#rules/clock/durations.ts';
import { drawnCoral } from './drawn-coral.ts';
import type { Random } from './seeded-random.ts';

/** Sends a document to the hub's own API. @throws Error  when it is not taken: the demonstration would show less than it says */
type Send = <Answer>(path: string, body: unknown) => Promise<Answer>;

const settled = ['Rose tenuis', 'Green slimer', 'Blue staghorn', 'Orange cap'];
const young = ['Purple bonsai', 'Yellow tips', 'Mint millepora', 'Red digitata', 'Rainbow stag'];

/** The rack's light as measured at four heights, invented. */
const light = {
  profile: {
    pairs: [
      { height_cm: 4, par: 70 },
      { height_cm: 12, par: 120 },
      { height_cm: 25, par: 210 },
      { height_cm: 40, par: 330 },
    ],
  },
  day: { full_hours: 7, ramp_up_hours: 2, ramp_down_hours: 2 },
  target: { par: 280 },
};

/**
 * The corals of the invented room, entered through the API as a keeper would: an arrival that has settled, one on day 6 of its
 * light, one expected tomorrow whose water does not match yet, and one whose bags float just now.
 *
 * @param dateOf  the date of a time in the zone of the room
 */
export async function furnish(
  hubUrl: string,
  nowMs: number,
  random: Random,
  dateOf: (timeMs: number) => string,
): Promise<void> {
  const at = (agoMs: number) => new Date(nowMs - agoMs).toISOString();
  const send: Send = async (path, body) => {
    const isPhoto = Buffer.isBuffer(body);
    const response = await fetch(`${hubUrl}/api/${path}`, {
      method: 'POST',
      headers: { 'content-type': isPhoto ? 'image/png' : 'application/json' },
      body: isPhoto ? new Uint8Array(body) : JSON.stringify(body),
    });
    if (!response.ok) throw new Error(`${path}: ${response.status} ${await response.text()}`);
    return (await response.json()) as never;
  };
  const expect = async (name: string, names: readonly string[], longest_cm: number, more: object): Promise<string> => {
    const pieces = names.map((kind) => ({ kind, count: 1, longest_cm }));
    const system = 'display';
    const source = 'a friend (invented)';
    return (await send<{ id: string }>('arrivals', { system, name: `${name} (invented)`, source, pieces, ...more })).id;
  };
  const pictures = async (arrival: string, longest_cm: number): Promise<void> => {
    const pieces = (await (await fetch(`${hubUrl}/api/pieces?arrival=${arrival}`)).json()) as { id: string }[];
    for (const { id } of pieces) {
      await send(`pieces/${id}/photos`, drawnCoral(random));
      await send(`pieces/${id}/events`, { event: 'growth', longest_cm, note: 'invented', time: at(dayMs) });
    }
  };

  const first = await expect('Autumn frags', settled, 4, { arrived: at(45 * dayMs) });
  await send(`arrivals/${first}/dips`, { time: at(45 * dayMs - 2 * hourMs) });
  for (const week of [38, 31, 24, 17, 10, 3])
    await send(`arrivals/${first}/inspections`, { findings: 'nothing found', time: at(week * dayMs) });
  await pictures(first, 5.5);
  await send(`arrivals/${first}/close`, {});

  const second = await expect('Frag swap', young, 3, { arrived: at(7 * dayMs + 2 * hourMs) });
  await send(`arrivals/${second}/light`, { ...light, first_day: dateOf(nowMs - 5 * dayMs) });
  await pictures(second, 3.4);

  const third = await expect('Winter order', ['Tabling acro', 'Deep water acro'], 6, { expected: at(-20 * hourMs) });
  const water = await send<{ fresh_l: number; salt_g: number }>('arrivals/prepare', {
    system: 'display',
    arrival: third,
    vessel_l: 10,
    salt: 'reef salt (invented)',
    grams_per_litre_at_35: 38,
    salinity: 35,
  });
  const batch = await send<{ id: string }>('batches', {
    system: 'display',
    arrival: third,
    litres: Number(water.fresh_l.toFixed(1)),
    salt: 'reef salt (invented)',
    salt_g: Math.round(water.salt_g),
    time: at(20 * hourMs),
    note: 'invented',
  });
  await send(`batches/${batch.id}/water`, { temperature: 21.4, salinity: 34.8, alkalinity: 8.2, time: at(hourMs) });

  for (const stock of ['soda', 'calcium'])
    await send('refills', { system: 'display', stock, time: at(9 * dayMs), note: 'invented' });

  // Near to what was sent before, as probes are that are looked after: the curves go on without a step.
  const by = 'Ines Marsh (invented)';
  const why = 'monthly check (invented)';
  for (const [agoDays, shown] of [
    [33, [7.01, 10.0]],
    [4, [7.0, 10.01]],
  ] as const)
    await send('calibrations', {
      kind: 'ph',
      probe: 'display-ph',
      time: at(agoDays * dayMs),
      by,
      why,
      buffers: [
        { ph: 7.0, shown_ph: shown[0], temperature_C: 25 },
        { ph: 10.01, shown_ph: shown[1], temperature_C: 25 },
      ],
    });
  for (const [probe, agoDays] of [
    ['display-conductivity', 19],
    ['growout-conductivity', 12],
  ] as const)
    await send('calibrations', {
      kind: 'cell',
      probe,
      time: at(agoDays * dayMs),
      by,
      why,
      standard: { seawater_salinity: 35 },
      shown_mS_cm: 53.07,
      standard_temperature_C: 25,
    });

  const box = await send<{ id: string }>('arrivals', {
    system: 'quarantine',
    name: 'Montipora box (invented)',
    arrived: at(0.1 * hourMs),
    pieces: [{ kind: 'Orange cap frag', count: 3, longest_cm: 4 }],
  });
  await send(`arrivals/${box.id}/runs`, { start_timer: true });
}
