export type Import = { file: string; specifier: string; target: string | undefined; isType: boolean };

export function allImports(root: string): Import[];
export function importsByRoom(imports: readonly Import[]): Map<string, Map<string, number>>;
export function matrixText(counts: Map<string, Map<string, number>>): string;
export const layers: readonly string[];
