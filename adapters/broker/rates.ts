import { type Bucket, take } from '../clock/bucket.ts';

/**
 * How much a client may publish: per topic more than any probe says, and in all what a gateway for a thousand probes says. What
 * waited while a probe was cut off passes at once, up to the burst. @source common practice, no published source
 */
const topicRate = { perSecond: 50, burst: 1000 };
const clientRate = { perSecond: 2000, burst: 4000 };
const mostTopicsOfOne = 2000;
/** Well below the time in which a client says that it lives. */
const longestHoldMs = 10_000;

/** One client's rate, for as long as it is connected. */
export function createRate(monotonicMs: () => number) {
  const whole: Bucket = { left: clientRate.burst, atMs: monotonicMs() };
  const topics = new Map<string, Bucket>();

  return {
    /** False for a message beyond the rate. */
    allows(topic: string): boolean {
      const nowMs = monotonicMs();
      let bucket = topics.get(topic);
      if (bucket === undefined) {
        const [oldest] = topics.keys();
        if (topics.size >= mostTopicsOfOne && oldest !== undefined) topics.delete(oldest);
        bucket = { left: topicRate.burst, atMs: nowMs };
        topics.set(topic, bucket);
      }
      return take(bucket, topicRate, nowMs) && take(whole, clientRate, nowMs);
    },
    /** How long a message that must not be lost is held back, so that its sender keeps to the rate, ms. */
    waitMs(topic: string): number {
      const bucket = topics.get(topic) ?? whole;
      bucket.left = Math.max(bucket.left - 1, (-longestHoldMs * topicRate.perSecond) / 1000);
      return Math.max(0, (-bucket.left * 1000) / topicRate.perSecond);
    },
  };
}

export type Rate = ReturnType<typeof createRate>;
