import { crc32, deflateSync } from 'node:zlib';
import type { Random } from './seeded-random.ts';

/** Pictures of corals that nobody ever had: drawn by chance, branch by branch, and small. */

const side = 96;
type Pixels = { rgb: Buffer };

/** A branching coral on a plug before dark water, as a PNG of a few kilobytes. */
export function drawnCoral(random: Random): Buffer {
  const pixels: Pixels = { rgb: Buffer.alloc(side * side * 3) };
  for (let y = 0; y < side; y += 1) for (let x = 0; x < side; x += 1) dot(pixels, x, y, [10, 22 + y / 4, 34 + y / 3]);
  disc(pixels, side / 2, side - 6, 16, [120, 116, 108]);
  const hue: Colour = [90 + random() * 150, 80 + random() * 120, 90 + random() * 120];
  for (let stem = 0; stem < 4; stem += 1)
    branch(pixels, random, hue, side / 2 + stem * 5 - 8, side - 10, -Math.PI / 2 + (stem - 1.5) * 0.45, 4.5);
  return png(pixels);
}

type Colour = [red: number, green: number, blue: number];

function branch(
  pixels: Pixels,
  random: Random,
  colour: Colour,
  x: number,
  y: number,
  angle: number,
  thick: number,
): void {
  let [atX, atY, turn] = [x, y, angle];
  const steps = 10 + random() * 8;
  for (let step = 0; step < steps; step += 1) {
    disc(pixels, atX, atY, thick, colour);
    atX += Math.cos(turn) * 2;
    atY += Math.sin(turn) * 2;
    turn += (random() - 0.5) * 0.25;
  }
  // Growing tips are pale.
  if (thick < 2.4) {
    disc(pixels, atX, atY, thick, [235, 230, 215]);
    return;
  }
  for (const side of [-1, 1])
    branch(pixels, random, colour, atX, atY, turn + side * (0.35 + random() * 0.3), thick * 0.68);
}

function disc(pixels: Pixels, x: number, y: number, radius: number, [red, green, blue]: Colour): void {
  for (let row = Math.floor(y - radius); row <= y + radius; row += 1)
    for (let column = Math.floor(x - radius); column <= x + radius; column += 1) {
      const away = Math.hypot(column - x, row - y) / radius;
      if (away > 1) continue;
      const light = 1.15 - 0.5 * away;
      dot(pixels, column, row, [red * light, green * light, blue * light]);
    }
}

function dot({ rgb }: Pixels, x: number, y: number, colour: Colour): void {
  if (x < 0 || y < 0 || x >= side || y >= side) return;
  colour.forEach((value, channel) => {
    rgb[(y * side + x) * 3 + channel] = Math.min(255, Math.max(0, Math.round(value)));
  });
}

/** @source PNG, ISO/IEC 15948: signature, header, one deflated stream of rows with filter 0, end */
function png({ rgb }: Pixels): Buffer {
  const header = Buffer.alloc(13);
  header.writeUInt32BE(side, 0);
  header.writeUInt32BE(side, 4);
  header.set([8, 2, 0, 0, 0], 8);
  const rows = Buffer.alloc(side * (side * 3 + 1));
  for (let row = 0; row < side; row += 1)
    rgb.copy(rows, row * (side * 3 + 1) + 1, row * side * 3, (row + 1) * side * 3);
  const signature = Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]);
  return Buffer.concat([
    signature,
    chunk('IHDR', header),
    chunk('IDAT', deflateSync(rows)),
    chunk('IEND', Buffer.alloc(0)),
  ]);
}

function chunk(name: string, data: Buffer): Buffer {
  const body = Buffer.concat([Buffer.from(name, 'latin1'), data]);
  const [length, check] = [Buffer.alloc(4), Buffer.alloc(4)];
  length.writeUInt32BE(data.length);
  check.writeUInt32BE(crc32(body) >>> 0);
  return Buffer.concat([length, body, check]);
}
