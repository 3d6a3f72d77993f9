// The imports between the folders of the product, read from the text of the sources: the TypeScript in use has no compiler
// interface for tools. Imports of types count like all others, for a folder that names another's types cannot be read alone.
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { dirname, join, relative, resolve, sep } from 'node:path';

/** Folders of `hub/` whose own folders are the rooms of the house, the lowest first. */
export const layers = ['model', 'flow', 'judgement', 'reports', 'outside'];

const importPattern = /(?:\bfrom\s*|\bimport\s*\(\s*|\bimport\s+)(['"])([^'"\n]+)\1/g;
/** An import or export that leaves nothing behind when the types are taken away. */
const typeOnlyPattern = /\b(?:import|export)\s+type\s[^;'"]*?\bfrom\s*(['"])([^'"\n]+)\1/g;

/** @returns {string[]} what a source imports or hands on, as it is written */
export function importsOf(source) {
  return [...source.matchAll(importPattern)].map((match) => match[2]);
}

/** The folder-rooted path an import names, or undefined for a package or a module of the platform. */
export function targetOf(root, file, specifier) {
  if (specifier.startsWith('#')) return specifier.slice(1);
  if (specifier.startsWith('.'))
    return relative(root, resolve(root, dirname(file), specifier))
      .split(sep)
      .join('/');
  return undefined;
}

function* sourceFiles(root, folder) {
  if (!existsSync(join(root, folder))) return;
  for (const entry of readdirSync(join(root, folder), { withFileTypes: true })) {
    const path = `${folder}/${entry.name}`;
    if (entry.isDirectory()) yield* sourceFiles(root, path);
    else if (/\.(ts|tsx|mjs)$/.test(entry.name)) yield path;
  }
}

/**
 * Every import of the product, from the root of a checkout.
 *
 * @returns {{ file: string, specifier: string, target: string | undefined, isType: boolean }[]}
 */
export function allImports(root) {
  const found = [];
  for (const folder of ['rules', 'adapters', 'hub']) {
    for (const file of sourceFiles(root, folder)) {
      const source = readFileSync(join(root, file), 'utf8');
      const types = new Set([...source.matchAll(typeOnlyPattern)].map((match) => match.index + match[0].length));
      for (const match of source.matchAll(importPattern)) {
        const target = targetOf(root, file, match[2]);
        found.push({ file, specifier: match[2], target, isType: types.has(match.index + match[0].length) });
      }
    }
  }
  return found;
}

/** The room of the house in which a file stands: `rules/bands`, `hub/model/config`, `hub/http`, `hub/compose.ts`. */
export function roomOf(path) {
  const [top, folder, inner] = path.split('/');
  return top === 'hub' && layers.includes(folder) ? `hub/${folder}/${inner.replace(/\.ts$/, '')}` : `${top}/${folder}`;
}

/** How many imports go from room to room. */
export function importsByRoom(imports) {
  const counts = new Map();
  for (const { file, target } of imports) {
    if (target === undefined) continue;
    const from = roomOf(file);
    const to = roomOf(target);
    if (from === to) continue;
    const row = counts.get(from) ?? new Map();
    counts.set(from, row.set(to, (row.get(to) ?? 0) + 1));
  }
  return counts;
}

/** Rooms that reach each other in both directions, as groups of more than one. */
export function circlesOf(counts) {
  const reach = new Map();
  for (const from of counts.keys()) {
    const seen = new Set();
    const open = [...counts.get(from).keys()];
    for (let room = open.pop(); room !== undefined; room = open.pop()) {
      if (seen.has(room)) continue;
      seen.add(room);
      open.push(...(counts.get(room)?.keys() ?? []));
    }
    reach.set(from, seen);
  }
  const groups = [];
  for (const [room, seen] of reach) {
    if (!seen.has(room) || groups.some((group) => group.includes(room))) continue;
    groups.push([...seen].filter((other) => reach.get(other)?.has(room)).sort());
  }
  return groups;
}

/** The table of imports between the rooms of `hub/`: each row imports what its columns number. */
export function matrixText(counts) {
  const rank = (room) => {
    const layer = layers.indexOf(room.split('/')[1]);
    return layer === -1 ? layers.length : layer;
  };
  const rooms = new Set([...counts.keys(), ...[...counts.values()].flatMap((row) => [...row.keys()])]);
  const inHub = [...rooms].filter((room) => room.startsWith('hub/')).sort();
  inHub.sort((one, other) => rank(one) - rank(other) || dependsOn(one, other) - dependsOn(other, one));
  const width = Math.max(...inHub.map((room) => room.length)) - 'hub/'.length;
  const lines = [`${' '.repeat(width + 4)}${inHub.map((_, place) => String(place + 1).padStart(4)).join('')}`];
  for (const [place, from] of inHub.entries()) {
    const cells = inHub.map((to) => String(counts.get(from)?.get(to) ?? '.').padStart(4)).join('');
    lines.push(`${String(place + 1).padStart(3)} ${from.slice(4).padEnd(width)}${cells}`);
  }
  const groups = circlesOf(counts);
  const circles = groups.map((group) => `circle: ${group.join(', ')}`);
  return [...lines, ...(circles.length === 0 ? ['no circle'] : circles), ''].join('\n');

  function dependsOn(one, other) {
    return counts.get(one)?.has(other) ? 1 : 0;
  }
}
