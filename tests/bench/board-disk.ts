import { spawnSync } from 'node:child_process';
import { mkdirSync, readFileSync, truncateSync, writeFileSync } from 'node:fs';
import { basename, join } from 'node:path';
import { inScratch } from './scratch.ts';

export type Disk = {
  dir: string;
  /** In words, for the table. */
  kind: string;
  /** All that the kernel has written to it so far, tables and journal of the file system among it; where that can be told. */
  deviceBytes?(): number;
};

const imageBytes = 512 * 1_048_576;

function run(program: string, ...args: string[]): string | undefined {
  const { status, stdout } = spawnSync(program, args, { encoding: 'utf8' });
  return status === 0 ? stdout.trim() : undefined;
}

/**
 * Runs work on a file system as the card of a board has it: ext4 with its journal, mounted as the documents advise, on a device
 * that nobody else writes to. Where that cannot be made, which takes root and Linux, on whatever lies under the directory for
 * temporary files.
 *
 * Other file systems count otherwise: without a journal the process is charged for the table of files as well.
 */
export function onBoardDisk<Result>(work: (disk: Disk) => Promise<Result>): Promise<Result> {
  return inScratch(async (scratch) => {
    const image = join(scratch, 'card.img');
    const dir = join(scratch, 'card');
    mkdirSync(dir);
    writeFileSync(image, '');
    truncateSync(image, imageBytes);
    // Nothing left for the kernel to lay out later, in the middle of what is measured.
    const laidOut = 'lazy_itable_init=0,lazy_journal_init=0';
    const isMounted =
      run('mkfs.ext4', '-q', '-F', '-E', laidOut, image) !== undefined &&
      run('mount', '-o', 'loop,noatime,commit=60', image, dir) !== undefined;
    if (!isMounted) return work({ dir, kind: 'the disk of this machine' });
    try {
      const device = basename(run('findmnt', '-n', '-o', 'SOURCE', dir) ?? '');
      // Sectors written, of 512 bytes whatever the device's own are (Documentation/block/stat.rst of the kernel).
      const deviceBytes = () => Number(readFileSync(`/sys/block/${device}/stat`, 'utf8').trim().split(/\s+/)[6]) * 512;
      return await work({ dir, kind: 'an ext4 that writes its journal once a minute', deviceBytes });
    } finally {
      if (run('umount', dir) === undefined) run('umount', '-l', dir);
    }
  });
}
