// Fails the build when an import climbs: rules -> nothing outside rules; adapters -> rules and adapters; hub -> all, but
// concrete adapters only from the composition root, and types of the ports from anywhere. It reads the text of the
// sources, because the TypeScript in use has no compiler interface for tools.
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { dirname, join, relative, resolve, sep } from 'node:path';

const compositionRoot = 'hub/compose.ts';
const importPattern = /(?:\bfrom\s*|\bimport\s*\(\s*|\bimport\s+)(['"])([^'"\n]+)\1/g;

export function importsOf(source) {
  return [...source.matchAll(importPattern)].map((match) => match[2]);
}

/** The folder-rooted path an import names, or undefined for a package or a module of the platform. */
function targetOf(root, file, specifier) {
  if (specifier.startsWith('#')) return specifier.slice(1);
  if (specifier.startsWith('.'))
    return relative(root, resolve(root, dirname(file), specifier))
      .split(sep)
      .join('/');
  return undefined;
}

/** Why the import is not allowed, or undefined. `file` and the result of `targetOf` are relative to the root. */
export function complaintAbout(root, file, specifier) {
  const target = targetOf(root, file, specifier);
  const from = file.split('/')[0];
  if (target === undefined) {
    return from === 'rules' ? 'rules/ is pure and imports no package and no module of the platform' : undefined;
  }
  const to = target.split('/')[0];
  if (from === 'rules' && to !== 'rules') return 'rules/ imports nothing from outside itself';
  if (from === 'adapters' && to !== 'adapters' && to !== 'rules') return 'adapters/ may import rules/ only';
  if (from === 'hub' && to === 'adapters' && !target.startsWith('adapters/ports/') && file !== compositionRoot) {
    return `only ${compositionRoot} knows the concrete adapters; speak to a port in adapters/ports`;
  }
  if (from !== 'tests' && to === 'tests') return 'no part of the product imports a test';
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

export function climbingImports(root) {
  const complaints = [];
  for (const folder of ['rules', 'adapters', 'hub']) {
    for (const file of sourceFiles(root, folder)) {
      for (const specifier of importsOf(readFileSync(join(root, file), 'utf8'))) {
        const why = complaintAbout(root, file, specifier);
        if (why) complaints.push(`${file}: imports "${specifier}": ${why}`);
      }
    }
  }
  return complaints;
}

if (process.argv[1] === new URL(import.meta.url).pathname) {
  const complaints = climbingImports(process.cwd());
  for (const complaint of complaints) process.stderr.write(`${complaint}\n`);
  process.stdout.write(`imports: ${complaints.length} climb\n`);
  process.exitCode = complaints.length === 0 ? 0 : 1;
}
