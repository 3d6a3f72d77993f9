export function climbingImports(root: string): string[];
