import type * as z from 'zod';
import type { Clock, MessageLink } from '#adapters/ports/edge.ts';
import type { ServiceManager } from '#adapters/ports/service-manager.ts';
import type { heartbeatPayload } from '../../judgement/notices/payload-schemas.ts';
import type { Progress } from './progress.ts';

type Heartbeat = z.infer<typeof heartbeatPayload>;

export type DeadMansSwitchParts = {
  clock: Clock;
  serviceManager: ServiceManager;
  /** Retained, so that whoever looks finds the last time. */
  topic: string;
  link(): Pick<MessageLink, 'publish' | 'state'> | undefined;
  progress: Progress;
  /** What a watcher may want to know besides the time. */
  facts(): Omit<Heartbeat, 'time'>;
};

export type DeadMansSwitch = {
  /** Every few seconds: the service manager is told, as often as it wants to hear it. */
  tick(): void;
  /** Once a minute: the heartbeat for whoever watches the hub from elsewhere. */
  beat(): void;
};

/**
 * Signs of life, to the service manager and on the heartbeat topic, given only while the hub does its work: a process that
 * merely runs is of no use to a tank. Who misses them must act; a dead hub cannot.
 */
export function createDeadMansSwitch(parts: DeadMansSwitchParts): DeadMansSwitch {
  const { clock, serviceManager, progress } = parts;
  let fedMs = Number.NEGATIVE_INFINITY;
  return {
    tick() {
      const { watchdogMs } = serviceManager;
      // Three times within its patience: two may get lost.
      if (watchdogMs === undefined || clock.monotonicMs() - fedMs < watchdogMs / 3 || !progress.isMoving()) return;
      fedMs = clock.monotonicMs();
      serviceManager.alive();
    },
    beat() {
      const link = parts.link();
      if (link === undefined || !link.state().isUp || !progress.isMoving()) return;
      const heartbeat: Heartbeat = { time: new Date(clock.nowMs()).toISOString(), ...parts.facts() };
      // A lost one is no harm: the next follows, and an old one must not come late.
      link.publish(parts.topic, JSON.stringify(heartbeat), { retain: true }).catch(() => {});
    },
  };
}
