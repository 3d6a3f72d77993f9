import { mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, onTestFinished, test } from 'vitest';
import type { PieceAnswer } from '#hub/api/pieces.ts';
import { createPhotos } from '#hub/judgement/pieces/photos.ts';
import { configOf, getJson, postJson, roomText, scratchRoom, startHubHere } from '../../../servers/hub-process.ts';

const mebibyte = 1_048_576;
/** The signature with which a PNG begins: ISO/IEC 15948, 5.2. */
const png = Buffer.concat([Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]), Buffer.alloc(92)]);

const piece = { id: 'p1', photos: [], formerPhotos: [] };

test('photos fill the disk that the readings need', async () => {
  const dir = mkdtempSync(join(tmpdir(), 'photos-'));
  onTestFinished(() => rmSync(dir, { recursive: true, force: true }));
  let freeBytes = 64 * mebibyte + png.length - 1;
  const photos = createPhotos(dir, async () => freeBytes);
  await expect(photos.save(piece, png)).rejects.toMatchObject({
    problem: 'not_stored',
    message: expect.stringMatching(/64 MiB free.*make room/),
  });
  expect(readdirSync(dir)).toEqual([]);
  freeBytes += 1;
  expect(await photos.save(piece, png)).toBe('p1-1.png');
  expect(readdirSync(dir)).toEqual(['p1-1.png']);
});

test('a photo is refused where the disk has room', async () => {
  const dir = mkdtempSync(join(tmpdir(), 'photos-'));
  onTestFinished(() => rmSync(dir, { recursive: true, force: true }));
  expect(await createPhotos(join(dir, 'new')).save(piece, png)).toBe('p1-1.png');
});

test('a photo cannot be deleted, its file stays, or its name is given to another one', async () => {
  const scratch = scratchRoom();
  onTestFinished(scratch.remove);
  const hub = await startHubHere(configOf(roomText(scratch.dir)));
  onTestFinished(() => hub.stop());
  const dir = join(scratch.dir, 'data', 'photos');
  const send = async () => {
    const answer = await fetch(`${hub.url}/api/pieces/p1/photos`, {
      ...{ method: 'POST', body: png, headers: { 'content-type': 'image/png' } },
    });
    return ((await answer.json()) as { name: string }).name;
  };
  const drop = async (name: string) => (await fetch(`${hub.url}/api/photos/${name}`, { method: 'DELETE' })).status;
  const told = () => getJson<PieceAnswer>(`${hub.url}/api/pieces/p1`);
  await postJson(`${hub.url}/api/pieces`, { system: 'display', kind: 'Acropora' });
  expect([await send(), await send()]).toEqual(['p1-1.png', 'p1-2.png']);

  expect(await drop('p1-2.png')).toBe(204);
  expect(readdirSync(dir)).toEqual(['p1-1.png']);
  expect(await told()).toMatchObject({
    photos: ['p1-1.png'],
    events: [
      { event: 'added' },
      { event: 'photo' },
      { event: 'photo' },
      { event: 'photo_deleted', more: { file: 'p1-2.png' } },
    ],
  });
  expect(await drop('p1-2.png')).toBe(404);
  expect((await fetch(`${hub.url}/api/photos/p1-2.png`)).status).toBe(404);
  expect(await drop('..%2Fbrinekeep.db')).toBe(404);

  // The hub was killed between the file and the note.
  rmSync(join(dir, 'p1-1.png'));
  expect(await drop('p1-1.png')).toBe(204);
  expect((await told()).photos).toEqual([]);
  expect(await send()).toBe('p1-3.png');
});
