import { mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, onTestFinished, test } from 'vitest';
import { createPhotos } from '#hub/judgement/pieces/photos.ts';

const mebibyte = 1_048_576;
/** The signature with which a PNG begins: ISO/IEC 15948, 5.2. */
const png = Buffer.concat([Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]), Buffer.alloc(92)]);

test('photos fill the disk that the readings need', async () => {
  const dir = mkdtempSync(join(tmpdir(), 'photos-'));
  onTestFinished(() => rmSync(dir, { recursive: true, force: true }));
  let freeBytes = 64 * mebibyte + png.length - 1;
  const photos = createPhotos(dir, async () => freeBytes);
  await expect(photos.save('p1', 0, png)).rejects.toMatchObject({
    problem: 'not_stored',
    message: expect.stringMatching(/64 MiB free.*make room/),
  });
  expect(readdirSync(dir)).toEqual([]);
  freeBytes += 1;
  expect(await photos.save('p1', 0, png)).toBe('p1-1.png');
  expect(readdirSync(dir)).toEqual(['p1-1.png']);
});

test('a photo is refused where the disk has room', async () => {
  const dir = mkdtempSync(join(tmpdir(), 'photos-'));
  onTestFinished(() => rmSync(dir, { recursive: true, force: true }));
  expect(await createPhotos(join(dir, 'new')).save('p2', 0, png)).toBe('p2-1.png');
});
