/**
 * How a hub does, worst first: nobody is there; nobody watches there; alarms; a value out of its band that is no alarm yet;
 * probes that are not heard; values in doubt; none of these.
 */
export const hubStates = ['offline', 'silent', 'alarm', 'outside', 'stale', 'doubtful', 'calm'] as const;

export type HubState = (typeof hubStates)[number];
