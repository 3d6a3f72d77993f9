export function breachesOf(root: string): string[];
