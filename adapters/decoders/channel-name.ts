const prototypeKeys = new Set(['__proto__', 'constructor', 'prototype', 'toString', 'valueOf', 'hasOwnProperty']);
const mostLength = 120;

/** True for a name that may become a key of somebody's object: short, and none that every object already has. */
export function isChannelName(name: string): boolean {
  return name.length > 0 && name.length <= mostLength && !prototypeKeys.has(name);
}
