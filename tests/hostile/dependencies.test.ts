import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import * as z from 'zod';

/** What is installed with the hub, by its own files: `npm audit` asks a registry and tells another day another thing. */
const read = (name: string) => readFileSync(new URL(`../../${name}`, import.meta.url), 'utf8');
const names = z.record(z.string(), z.string());
const manifest = z
  .object({ dependencies: names, devDependencies: names, allowScripts: z.record(z.string(), z.boolean()) })
  .parse(JSON.parse(read('package.json')));
const locked = z
  .object({
    packages: z.record(
      z.string(),
      z.looseObject({
        version: z.string().optional(),
        resolved: z.string().optional(),
        integrity: z.string().optional(),
        hasInstallScript: z.boolean().optional(),
        dev: z.boolean().optional(),
        devOptional: z.boolean().optional(),
      }),
    ),
  })
  .parse(JSON.parse(read('package-lock.json')));

/** All but the project itself, whose place is the empty one. */
const packages = Object.entries(locked.packages).filter(([place]) => place !== '');
const nameOf = (place: string) => place.slice(place.lastIndexOf('node_modules/') + 'node_modules/'.length);

test('a package brings a program to be run at its installation, and nobody said whether it may', () => {
  const withScript = packages
    .filter(([, { hasInstallScript }]) => hasInstallScript === true)
    .map(([place]) => nameOf(place));
  const named = Object.keys(manifest.allowScripts);
  for (const name of withScript) expect(named).toContain(name);
  // What is needed is in the packages already built: none runs a program of its own.
  expect(named.filter((name) => manifest.allowScripts[name])).toEqual([]);
});

test('a package is bound to one host or to this machine, or may be exchanged unseen', () => {
  for (const [place, { resolved, integrity }] of packages) {
    // Without an address it is the registry that is configured where it is installed.
    expect(resolved, place).toBeUndefined();
    expect(integrity, place).toMatch(/^sha512-/);
  }
  expect(read('package-lock.json')).not.toMatch(/file:|"\/|https?:\/\/(localhost|127\.|10\.|192\.168\.)/);
});

test('a package is there that nobody gave a reason for, or a reason for one that is not there', () => {
  const section =
    read('deploy/make/README.md')
      .split('# What the program stands on, and why')[1]
      ?.split(/\n## |\n\| npm \|/)[0] ?? '';
  const rows = [...section.matchAll(/^\| (?!package \||-)([^|]+) \|/gm)].flatMap(([, cell = '']) => cell.split(', '));
  const used = [...Object.keys(manifest.dependencies), ...Object.keys(manifest.devDependencies)];
  expect(rows.length).toBeGreaterThan(20);
  expect(rows.sort()).toEqual(used.sort());
});

test('a version is not pinned, so that tomorrow another one is installed', () => {
  for (const [name, version] of Object.entries({ ...manifest.dependencies, ...manifest.devDependencies })) {
    expect([name, version]).toEqual([name, expect.stringMatching(/^\d+\.\d+\.\d+$/)]);
  }
});

test('the count of packages is known to whoever adds one', () => {
  const production = packages.filter(([, { dev, devOptional }]) => dev !== true && devOptional !== true);
  console.log(`packages in the lock file: ${production.length} for production, ${packages.length} in all`);
  expect(production.length).toBeGreaterThan(Object.keys(manifest.dependencies).length);
  expect(production.length).toBeLessThan(packages.length);
});
