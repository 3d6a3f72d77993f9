import { describe, expect, it } from 'vitest';
import { ownProtocols } from '#rules/arrivals/own-protocols.ts';
import { type Protocol, type ProtocolStep, protocolFaults, stepCautions } from '#rules/arrivals/protocol.ts';

const protocol = (...steps: ProtocolStep[]): Protocol => ({ id: 'p', name: 'P', steps });
const bath: ProtocolStep = { kind: 'dip_bath', tankShare: 0.5, reagents: [] };
const rinse: ProtocolStep = { kind: 'rinse_bath' };

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
