/** So many at once, and so many a second from then on. */
export type Limit = { perSecond: number; burst: number };
export type Bucket = { left: number; atMs: number };

/** Counts down what may still pass, and up again with time. False for what is beyond the limit. */
export function take(bucket: Bucket, limit: Limit, nowMs: number): boolean {
  bucket.left = Math.min(limit.burst, bucket.left + ((nowMs - bucket.atMs) * limit.perSecond) / 1000);
  bucket.atMs = nowMs;
  if (bucket.left < 1) return false;
  bucket.left -= 1;
  return true;
}
