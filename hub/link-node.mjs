// The Node that the lock file brings, under the name by which npm's scripts find it. npm links it by itself, but up to some
// version 11 takes the link away again with the package that is for another processor. Runs on whatever Node npm runs on.
import { existsSync, mkdirSync, symlinkSync } from 'node:fs';

const runtime = `node-linux-${process.arch}/bin/node`;
const link = 'node_modules/.bin/node';
if (existsSync(`node_modules/${runtime}`) && !existsSync(link)) {
  mkdirSync('node_modules/.bin', { recursive: true });
  symlinkSync(`../${runtime}`, link);
}
