import { describe, expect, it } from 'vitest';
import { ownProtocols } from '#rules/arrivals/own-protocols.ts';
import { type Protocol, type ProtocolStep, protocolFaults, stepCautions } from '#rules/arrivals/protocol.ts';

const protocol = (...steps: ProtocolStep[]): Protocol => ({ id: 'p', name: 'P', steps });
const bath: ProtocolStep = { kind: 'dip_bath', tankShare: 0.5, reagents: [] };
const rinse: ProtocolStep = { kind: 'rinse_bath' };

describe('the rinse after a dip', () => {
  // Common practice, no published source: about ten minutes in new salt water.
  it.each(ownProtocols.filter(({ steps }) => steps.some(({ kind }) => kind === 'soak')))(
    'is half as long as keepers rinse: $id',
    ({ steps }) => {
      expect(steps.filter(({ kind }) => kind === 'rinse_bath')).toEqual([{ kind: 'rinse_bath', minutes: 10 }]);
    },
  );
});

describe('a protocol before it is run', () => {
  it.each(ownProtocols.map((own) => [own.id, own] as const))('our own %s is refused', (_, own) => {
    expect(protocolFaults(own)).toEqual([]);
  });

  it.each<[string, Protocol, string[]]>([
    ['nothing to do', protocol(), ['no_steps']],
    ['a soak over the maximum', protocol(bath, { kind: 'soak', minutes: 11 }, rinse), ['soak_over_maximum']],
    [
      'a maximum over the maximum',
      protocol(bath, { kind: 'soak', minutes: 5, mostMinutes: 12 }, rinse),
      ['soak_over_maximum'],
    ],
    [
      'a soak over its own maximum',
      protocol(bath, { kind: 'soak', minutes: 6, mostMinutes: 5 }, rinse),
      ['soak_over_maximum'],
    ],
    ['a negative soak', protocol(bath, { kind: 'soak', minutes: -1 }, rinse), ['soak_over_maximum']],
    ['a soak that is no number', protocol(bath, { kind: 'soak', minutes: Number.NaN }, rinse), ['soak_over_maximum']],
    ['a soak in nothing', protocol({ kind: 'soak', minutes: 5 }, rinse), ['soak_without_bath']],
    [
      'a dip that stays on',
      protocol(bath, { kind: 'soak', minutes: 5 }, { kind: 'placement' }),
      ['no_rinse_after_soak'],
    ],
    ['mostly bag water', protocol({ ...bath, tankShare: 0.4 }), ['tank_share_under_half']],
    ['half an hour afloat', protocol({ kind: 'float', minutes: 30 }), ['float_too_short']],
    ['a rinse for ever', protocol({ kind: 'rinse_bath', minutes: 5000 }), ['minutes_out_of_range']],
    ['a rinse of no time', protocol({ kind: 'rinse_bath', minutes: 0 }), ['minutes_out_of_range']],
    ['an hour before it began', protocol({ kind: 'acclimate', minutes: -60 }), ['minutes_out_of_range']],
    ['a hundred steps', protocol(...Array.from({ length: 100 }, () => rinse)), ['too_many_steps']],
    [
      'two mistakes, told one at a time',
      protocol({ kind: 'float', minutes: 5 }, bath, { kind: 'soak', minutes: 20 }, rinse),
      ['float_too_short', 'soak_over_maximum'],
    ],
  ])('%s may be run', (_, faulty, faults) => {
    expect(protocolFaults(faulty).map(({ fault }) => fault)).toEqual(faults);
  });

  it('a step with a reagent comes without its cautions', () => {
    for (const kind of ['dip_bath', 'soak'] as const) {
      expect(stepCautions(kind).join(' ')).toMatch(/label.*gloves.*Never mix.*children.*palytoxin.*Discard/i);
    }
    expect(stepCautions('new_plug').join(' ')).toMatch(/gloves.*palytoxin/i);
    expect(stepCautions('placement')).toEqual([]);
  });

  it('our own leaves out the soak, the rinse, the look over or the place at the end', () => {
    expect(new Set(ownProtocols.map(({ id }) => id)).size).toBe(ownProtocols.length);
    for (const { id, name, steps } of ownProtocols) {
      const kinds = steps.map(({ kind }) => kind);
      expect(id, name).toMatch(/^[a-z_]+$/);
      expect(name, id).toMatch(/[Ii]nspect|dip/);
      expect(kinds.slice(-2), id).toEqual(['inspection', 'placement']);
      if (kinds[0] !== 'inspection') expect(steps[0], id).toEqual({ kind: 'float', minutes: 60 });
      if (!kinds.includes('dip_bath')) continue;
      const bathAt = kinds.indexOf('dip_bath');
      expect(kinds.slice(bathAt, bathAt + 4), id).toEqual(['dip_bath', 'soak', 'swirl_and_rinse_off', 'rinse_bath']);
    }
  });
});

describe('the edges of a protocol', () => {
  const soak = (minutes: number, mostMinutes?: number): ProtocolStep => ({
    ...{ kind: 'soak', minutes },
    ...(mostMinutes === undefined ? {} : { mostMinutes }),
  });
  const texts = (...steps: ProtocolStep[]) => protocolFaults(protocol(...steps)).map(({ text }) => text);

  it.each<[string, ProtocolStep[]]>([
    ['forty steps', Array.from({ length: 40 }, () => rinse)],
    ['all from the tank', [{ ...bath, tankShare: 1 } as ProtocolStep]],
    ['a soak of ten minutes', [bath, soak(10), rinse]],
    ['a soak as long as its own maximum', [bath, soak(5, 5), rinse]],
    ['a soak that is only rinsed off', [bath, soak(5), { kind: 'swirl_and_rinse_off' }]],
    ['four hours of acclimating', [{ kind: 'acclimate', minutes: 240 }]],
    ['an hour afloat', [{ kind: 'float', minutes: 60 }]],
  ])('%s may not be run', (_, steps) => {
    expect(texts(...steps)).toEqual([]);
  });

  it.each<[string, ProtocolStep[], string]>([
    ['no steps', [], 'It has no steps.'],
    ['41 steps', Array.from({ length: 41 }, () => rinse), 'It has 41 steps, allowed: up to 40.'],
    ['more than all', [{ ...bath, tankShare: 1.1 } as ProtocolStep], "The tank's share is 1.1, allowed: 0.5 to 1."],
    [
      'a soak of no time',
      [bath, soak(0), rinse],
      'A soak of 0 minutes with a maximum of 10, allowed: above 0, at most 10, and not over its own maximum.',
    ],
    [
      'a soak over its own',
      [bath, soak(6, 5), rinse],
      'A soak of 6 minutes with a maximum of 5, allowed: above 0, at most 10, and not over its own maximum.',
    ],
    ['a soak before its bath', [{ kind: 'inspection' }, soak(5), bath, rinse], 'A soak needs a dip bath before it.'],
    [
      'a rinse before the soak',
      [rinse, bath, { kind: 'swirl_and_rinse_off' }, soak(5), { kind: 'placement' }],
      'Nothing rinses the pieces after this soak.',
    ],
    [
      'more than four hours',
      [{ kind: 'rinse_bath', minutes: 241 }],
      'Its minutes are 241, allowed: above 0, at most 240.',
    ],
    ['less than an hour afloat', [{ kind: 'float', minutes: 59 }], 'Bags float for 59 minutes, allowed: 60 or more.'],
  ])('%s may be run, or is refused without a word why', (_, steps, text) => {
    expect(texts(...steps)).toEqual([text]);
  });

  it('a step without reagents comes with all cautions of the bath, or one with wet hands without any', () => {
    for (const kind of ['swirl_and_rinse_off', 'rinse_bath', 'new_plug', 'inspection'] as const) {
      const cautions = stepCautions(kind).join(' ');
      expect(cautions, kind).toMatch(/gloves.*palytoxin/i);
      expect(cautions, kind).not.toMatch(/Never mix|Discard/);
    }
    for (const kind of ['float', 'acclimate', 'placement'] as const) expect(stepCautions(kind), kind).toEqual([]);
  });

  // Common practice, no published source: new plugs against eggs on the old ones, and animals that are not dipped brought over slowly.
  it('our own leaves the old plug on, or puts what is not dipped straight into the tank', () => {
    const kinds = (id: string) => ownProtocols.find((own) => own.id === id)!.steps.map(({ kind }) => kind);
    expect(kinds('dip_and_inspect')).toContain('new_plug');
    expect(ownProtocols.find(({ id }) => id === 'acclimate_only')!.steps[1]).toEqual({
      kind: 'acclimate',
      minutes: 60,
    });
  });
});
