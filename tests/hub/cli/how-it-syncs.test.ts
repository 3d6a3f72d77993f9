import { existsSync } from 'node:fs';
import { expect, onTestFinished, test, vi } from 'vitest';
import { hubCommand } from '../../servers/hub-command.ts';
import { roomText, scratchRoom, startHubProcess } from '../../servers/hub-process.ts';
import { patience } from '../../servers/server-process.ts';

vi.setConfig({ testTimeout: 120_000 * patience() });

/** Laid there by the build of a release alone, or by the bench, which measures that. */
const isReleaseBuild = hubCommand()
  .filter((each) => each.endsWith('dist/hub/main.js'))
  .some((main) => existsSync(main.replace('hub/main.js', 'prebuilds/fdatasync')));

test('a source checkout does not say that it writes more to the card than a release', async () => {
  const { dir, remove } = scratchRoom();
  onTestFinished(remove);
  const hub = await startHubProcess(dir, roomText(dir));
  onTestFinished(() => hub.end('SIGKILL'));
  expect(hub.log().includes('the database syncs by fsync')).toBe(!isReleaseBuild);
});
