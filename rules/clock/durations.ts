/** Spans of time in milliseconds. A day here is 24 hours, whatever the clocks of a place do in it. */
export const secondMs = 1000;
export const minuteMs = 60 * secondMs;
export const hourMs = 60 * minuteMs;
export const dayMs = 24 * hourMs;
