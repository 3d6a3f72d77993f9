import { describe, expect, test } from 'vitest';
import { dipText, inspectionText } from '../../../hub/arrivals/pest-watch.ts';

const zone = 'Pacific/Auckland';
/** Late March is still daylight time there, UTC + 13 h: the evening in UTC is the next morning. From the IANA time zone database. */
const eveningUtc = Date.UTC(2026, 2, 30, 20);

describe('dates of dips and inspections', () => {
  test('name the day before the keeper’s own', () => {
    const dip = { kind: 'dip', state: 'due', dueMs: eveningUtc } as const;
    expect(dipText(dip, zone)).toContain('best on 2026-03-31');
    expect(dipText(dip, 'UTC')).toContain('best on 2026-03-30');
    const inspection = { kind: 'inspection', state: 'due', dueMs: eveningUtc } as const;
    expect(inspectionText(inspection, 0, eveningUtc, zone)).toBe('Inspection is due since 2026-03-31.');
  });
});
