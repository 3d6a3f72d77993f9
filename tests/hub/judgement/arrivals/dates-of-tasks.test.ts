import { describe, expect, test } from 'vitest';
import { dipText, inspectionText } from '../../../../hub/judgement/arrivals/pest-watch.ts';

const zone = 'Pacific/Auckland';
/** Late March is still daylight time there, UTC + 13 h: the evening in UTC is the next morning. From the IANA time zone database. */
const eveningUtc = Date.UTC(2026, 2, 30, 20);

describe('dates of dips and inspections', () => {
  test('name the day before the keeper’s own', () => {
    const dip = { kind: 'dip', state: 'due', dueMs: eveningUtc } as const;
    expect(dipText(dip, zone)).toContain('best on Tue 31 Mar');
    expect(dipText(dip, 'UTC')).toContain('best on Mon 30 Mar');
    const inspection = { kind: 'inspection', state: 'due', dueMs: eveningUtc } as const;
    expect(inspectionText(inspection, 0, eveningUtc, zone)).toBe('Inspection is due since Tue 31 Mar.');
  });
});
