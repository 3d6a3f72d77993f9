import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { programAt } from '../machine/parts.mjs';

/** What a decoder that is not ours (ZBar) reads in a picture, PNG or PBM; one text for each code in it. */
export function qrTextsIn(picture: Buffer, ending: 'png' | 'pbm'): string[] {
  const dir = mkdtempSync(join(tmpdir(), 'brinekeep-qr-'));
  try {
    const path = join(dir, `code.${ending}`);
    writeFileSync(path, picture);
    const args = ['--quiet', '--nodbus', '--raw', '-Sdisable', '-Sqrcode.enable', path];
    return execFileSync(programAt('zbarimg'), args, { encoding: 'utf8' }).split('\n').filter(Boolean);
  } finally {
    rmSync(dir, { recursive: true, force: true });
  }
}

/** Two rows of modules in each line of text, as they stand on a terminal: a full block is light there. */
const halves: Record<string, [upper: boolean, lower: boolean]> = {
  '█': [true, true],
  '▀': [true, false],
  '▄': [false, true],
  ' ': [false, false],
};

/** The code in the lines of a terminal, light on dark, as a picture (PBM, 1 is black) with eight dots a module. */
export function pictureOfTerminal(lines: readonly string[]): Buffer {
  const rows = lines.flatMap((line) => {
    const cells = [...line].map((sign) => halves[sign] ?? [false, false]);
    return [cells.map(([upper]) => upper), cells.map(([, lower]) => lower)];
  });
  const size = 8;
  // A camera sees the terminal around the code.
  const margin = 4;
  const width = Math.max(...rows.map(({ length }) => length)) + 2 * margin;
  const isLight = (x: number, y: number) => rows[y - margin]?.[x - margin] === true;
  const dots: string[] = [];
  for (let y = 0; y < (rows.length + 2 * margin) * size; y += 1) {
    let line = '';
    for (let x = 0; x < width * size; x += 1) line += isLight(Math.floor(x / size), Math.floor(y / size)) ? '0 ' : '1 ';
    dots.push(line);
  }
  return Buffer.from(`P1\n${width * size} ${dots.length}\n${dots.join('\n')}\n`);
}
