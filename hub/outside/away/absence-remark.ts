import type { FastifyBaseLogger } from 'fastify';
import type { Watch } from '../../judgement/watch/watch.ts';
import type { Config } from '../../model/config/schema.ts';
import { type Absence, absenceLine } from './absence.ts';

/** Says that the hub was away, as loudly as what stands then asks for. */
export function absenceRemark(
  config: Config,
  watch: Pick<Watch, 'standing' | 'remark'>,
  now: () => number,
  log: Pick<FastifyBaseLogger, 'warn'>,
): (absence: Absence) => void {
  return (absence) => {
    const standing = watch.standing(now()).filter(({ isStanding }) => isStanding);
    const missed = { probes: config.probes.length, systems: config.systems.length, standing: standing.length };
    const line = absenceLine(absence, missed, now(), config.site.timezone);
    log.warn(absence, line);
    const isUrgent = standing.some(({ priority }) => priority === 'high');
    const priority = isUrgent ? 'high' : absence.isOrderly ? 'low' : 'medium';
    watch.remark({ key: `away#${absence.toMs}`, priority, line }, now());
  };
}
