#!/usr/bin/env node
// Looks at the Node before anything else is read. Static imports would come first, and an older Node ends at them: in the
// middle of a word that it does not know, or with a crash in the native part of the database.
const [major = 0, minor = 0] = process.versions.node.split('.').map(Number);
if (major > 22 || (major === 22 && minor >= 14)) {
  // Meant for those who write programs; Node keeps them from users only for libraries that lie in node_modules.
  Object.assign(process, { noDeprecation: true });
  import('./program.ts');
} else {
  process.stderr.write(
    `Brinekeep needs Node 22.14 or later and this is Node ${process.versions.node}: install Node 24, or in a source checkout use "npm run brinekeep --", which brings its own.\n`,
  );
  process.exitCode = 2;
}
