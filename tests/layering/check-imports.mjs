// Fails the build when an import climbs. `rules` imports nothing outside itself, `adapters` rules and adapters, `hub` all, but
// concrete adapters only from the composition root. Inside `hub/` a layer imports lower ones, and folders form no circle
// anywhere. `--matrix` prints who imports whom.
import { allImports, circlesOf, importsByRoom, layers, matrixText, roomOf } from './import-graph.mjs';

const compositionRoot = 'hub/compose.ts';
/** What each room of `hub/` beside the layers may import of the others; those that are not named run the rest, and may all. */
const allowed = {
  api: ['model'],
  http: [...layers, 'api'],
  web: ['api', 'reports'],
};
/** Who may import the assembly. */
const runners = ['cli', 'demo', 'bench'];
/** Packages that run in a browser. */
const packagesOfThePage = /^(preact|@preact|zod)(\/|$)/;

/** Why the import is not allowed, or undefined. */
export function complaintAbout({ file, target }) {
  const [from, inHub] = file.split('/');
  if (target === undefined) {
    if (from === 'rules') return 'rules/ is pure and imports no package and no module of the platform';
    return undefined;
  }
  const [to, toHub] = target.split('/');
  if (from === 'rules' && to !== 'rules') return 'rules/ imports nothing from outside itself';
  if (from === 'adapters' && to !== 'adapters' && to !== 'rules') return 'adapters/ may import rules/ only';
  if (from === 'hub' && to === 'adapters' && !target.startsWith('adapters/ports/') && file !== compositionRoot) {
    return `only ${compositionRoot} knows the concrete adapters; speak to a port in adapters/ports`;
  }
  if (from !== 'tests' && to === 'tests') return 'no part of the product imports a test';
  if (from !== 'hub' || to !== 'hub' || inHub === toHub) return undefined;
  return complaintInHub(inHub, toHub);
}

function complaintInHub(from, to) {
  const layer = layers.indexOf(from);
  if (layer !== -1) {
    return layers.slice(0, layer).includes(to)
      ? undefined
      : `hub/${from} is layer ${layer + 1} and imports only layers below it; what it needs of ${to} is passed in by hub/room`;
  }
  const list = allowed[from];
  if (list !== undefined && !list.includes(to)) return `hub/${from} imports only ${list.join(', ')}`;
  if (to === 'room' && !runners.includes(from)) return `only ${runners.join(', ')} import the assembly`;
  if (to === 'compose.ts' && !from.endsWith('.ts')) return 'the composition root is for the start of the program alone';
  return undefined;
}

/** What would come into a browser with the page or the contract, and cannot run there. */
function unsafeInBrowser(imports) {
  const byFile = new Map();
  for (const each of imports) if (!each.isType) byFile.set(each.file, [...(byFile.get(each.file) ?? []), each]);
  const complaints = [];
  const seen = new Set();
  const open = [...byFile.keys()].filter((file) => /^hub\/(api|web\/src)\//.test(file));
  for (let file = open.pop(); file !== undefined; file = open.pop()) {
    if (seen.has(file)) continue;
    seen.add(file);
    for (const { specifier, target } of byFile.get(file) ?? []) {
      if (target !== undefined) open.push(target);
      else if (!packagesOfThePage.test(specifier))
        complaints.push(`${file}: imports "${specifier}": the page or hub/api brings it into a browser`);
    }
  }
  return complaints;
}

/** Every breach of the law of imports in a checkout, one line each; empty when there is none. */
export function breachesOf(root) {
  const imports = allImports(root);
  const complaints = [];
  const allowedOnes = [];
  for (const each of imports) {
    const why = complaintAbout(each);
    if (why) complaints.push(`${each.file}: imports "${each.specifier}": ${why}`);
    else allowedOnes.push(each);
  }
  // One import that climbs closes circles through half the house: it is said once, and they go with it.
  for (const circle of circlesOf(importsByRoom(allowedOnes))) complaints.push(circleText(allowedOnes, circle));
  return [...complaints, ...unsafeInBrowser(imports)];
}

/** A circle with an import for each of its steps, so that one of them can be taken out. */
function circleText(imports, circle) {
  const steps = imports.filter(({ file, target }) => {
    const [from, to] = [roomOf(file), target === undefined ? undefined : roomOf(target)];
    return from !== to && circle.includes(from) && circle.includes(to);
  });
  const lines = steps.map(({ file, target }) => `  ${file} -> ${target}`);
  return [`${circle.join(', ')}: form a circle`, ...lines].join('\n');
}

if (process.argv[1] === new URL(import.meta.url).pathname) {
  if (process.argv.includes('--matrix')) process.stdout.write(matrixText(importsByRoom(allImports(process.cwd()))));
  const complaints = breachesOf(process.cwd());
  for (const complaint of complaints) process.stderr.write(`${complaint}\n`);
  process.stdout.write(`imports: ${complaints.length} breaches\n`);
  process.exitCode = complaints.length === 0 ? 0 : 1;
}
