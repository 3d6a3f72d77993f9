import { expect, it } from 'vitest';
import { illnesses } from '#rules/arrivals/illness.ts';

// Common practice, no published source.
it('tissue that comes off is left among the others, or cut without protection', () => {
  for (const sign of ['tissue_loss_fast', 'tissue_loss_slow', 'bite_marks'] as const)
    expect(illnesses[sign].first, sign).toMatch(/own vessel|keep it apart/);
  for (const [sign, { first }] of Object.entries(illnesses)) {
    if (/\bcut\b|scrape/.test(first)) expect(first, sign).toMatch(/gloves and eye protection.*palytoxin/);
    expect(first, sign).toMatch(/ask an experienced keeper or an aquatic veterinarian|name the pest/);
  }
});
