import { writeFileSync } from 'node:fs';
import { generatedFiles } from './generated-files.ts';
import { askHubOfItself } from './live-hub.ts';

/** Writes the reference pages anew. Run it after a change of a route, a topic or a schema. */
for (const [path, text] of generatedFiles(await askHubOfItself())) {
  writeFileSync(new URL(`../../${path}`, import.meta.url), text);
  console.log(path);
}
