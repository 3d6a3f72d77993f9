import { dayMs } from '../../clock/durations.ts';
import { isContainerLow } from '../../verdicts/container-low.ts';
import { durationText } from '../../words/value-text.ts';
import { type AlarmKind, untilNext } from './kind.ts';

export const containerLow: AlarmKind<'container_low', never, 'containerLow'> = {
  id: 'container_low',
  means: 'A dosing container has only a few days left.',
  firstLook: "mix or buy now, with gloves and eye protection, by the maker's label; then log the refill.",
  appliesTo: 'system',
  hasDeadband: true,
  onStream: {},
  elsewhere: {
    containerLow: {
      defaults: () => ({ ...untilNext, priority: 'low', limit: 5, deadband: 2 }),
      judge: {
        each: 'container',
        of({ container: { stock, name = stock, daysLeft }, settings }) {
          const lasts = durationText(Math.max(0, daysLeft) * dayMs);
          return {
            idEnd: `/${stock}`,
            condition: isContainerLow(daysLeft, settings.limit)
              ? 'abnormal'
              : isContainerLow(daysLeft, settings.limit + settings.deadband)
                ? 'deadband'
                : 'normal',
            raised: () =>
              daysLeft > 0
                ? `The ${name} lasts another ${lasts} at the present use. Make or buy more and refill it.`
                : `By its own count the container of ${name} is empty. Refill it, and look at pump and tube.`,
            cleared: () => `The ${name} lasts another ${lasts}.`,
          };
        },
      },
    },
  },
};
