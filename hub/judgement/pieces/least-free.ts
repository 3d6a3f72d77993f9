/** Below this the store may not be able to grow through the night, bytes. */
export const leastFreeBytes = 64 * 1_048_576;
