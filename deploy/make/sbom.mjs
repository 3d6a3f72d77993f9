// What the release is made of, by npm's own list (CycloneDX), without what differs from one run to the next.
import { createHash } from 'node:crypto';
import { run } from './run.mjs';

/** @param atS  Unix time of the commit, s */
export function materialsText(version, atS) {
  const list = JSON.parse(run('npm', ['sbom', '--sbom-format', 'cyclonedx', '--omit', 'dev']));
  // npm names the component after the folder.
  Object.assign(list.metadata.component, { name: 'brinekeep', version, 'bom-ref': `brinekeep@${version}` });
  list.metadata.component.purl = `pkg:npm/brinekeep@${version}`;
  list.metadata.timestamp = new Date(atS * 1000).toISOString();
  for (const each of list.dependencies) if (/^brinekeep@/.test(each.ref)) each.ref = `brinekeep@${version}`;
  const digest = createHash('sha256')
    .update(JSON.stringify({ ...list, serialNumber: '' }))
    .digest('hex');
  // A UUID of the eighth kind (RFC 9562): its bits are those of the content.
  const parts = [digest.slice(0, 8), digest.slice(8, 12), `8${digest.slice(13, 16)}`, `8${digest.slice(17, 20)}`];
  list.serialNumber = `urn:uuid:${[...parts, digest.slice(20, 32)].join('-')}`;
  return `${JSON.stringify(list, undefined, 2)}\n`;
}
