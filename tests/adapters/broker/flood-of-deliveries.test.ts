import { expect, test } from 'vitest';
import { type CoreParts, createCore } from '#adapters/broker/core.ts';
import { createSessions } from '#adapters/broker/sessions.ts';

/** As many as the slowest reader holds up in a flood of seconds. */
const messages = 30_000;

test('deliveries that waited for a slow reader overflow the stack, and the hub ends', async () => {
  const limits = { mostWaitingOfOne: 10, mostWaitingBytes: 1e6, mostRetainedBytes: 1e6, mostUnreleasedBytes: 1e6 };
  const core = await createCore({
    ...{ limits: { ...limits, mostBacklogBytes: 1e6, mostSubscriptionBytes: 1e6 }, counts: {}, memory: undefined },
    sessions: createSessions(
      10,
      () => 10,
      () => 0,
    ),
    ...{ monotonicMs: () => 0, gatekeeper: { isKnown: () => true }, failed: () => {} },
  } as unknown as CoreParts);
  const waiting: (() => void)[] = [];
  let isSlow = true;
  const hears = (_packet: unknown, done: () => void) => void (isSlow ? waiting.push(done) : done());
  await new Promise<void>((resolve) => core.aedes.subscribe('tank/t', hears, () => resolve()));
  // The one through which all that it delivers goes; its types do not name it.
  const emitter = (core.aedes as unknown as { mq: { emit(packet: object, done: () => void): void } }).mq;
  let delivered = 0;
  for (let n = 0; n < messages; n += 1) {
    emitter.emit({ topic: 'tank/t', payload: '25.4' }, () => {
      delivered += 1;
    });
  }
  isSlow = false;
  for (const done of waiting) done();
  expect(delivered).toBe(messages);
  await core.end();
  await new Promise<void>((resolve) => core.aedes.close(() => resolve()));
});
