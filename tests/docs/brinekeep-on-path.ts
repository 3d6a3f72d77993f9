import { chmodSync, mkdirSync, writeFileSync } from 'node:fs';
import { createServer, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { join } from 'node:path';
import { verbHere } from '../hub/cli/verb-here.ts';
import { hubCommand } from '../servers/hub-command.ts';

export type CommandsOnPath = {
  /** Folder to put first on the path. */
  bin: string;
  stop(): Promise<void>;
};

/**
 * `brinekeep` for a shell, as the sources are, and the broker's tools pointed at one broker.
 *
 * A start of Node costs seconds on a loaded machine, so the words of a command come to this process, which runs the verb
 * as `program.ts` does, one after the other, in the folder `dir`; the shell gets its two outputs and its exit code.
 * `brinekeep-itself` is the program as a process of its own.
 */
export async function putCommandsOnPath(dir: string, brokerPort: number): Promise<CommandsOnPath> {
  const bin = join(dir, 'bin');
  mkdirSync(bin);
  const put = (name: string, script: string) => {
    writeFileSync(join(bin, name), `#!/bin/sh\n${script}\n`);
    chmodSync(join(bin, name), 0o755);
  };
  const before = process.cwd();
  process.chdir(dir);
  let runs = 0;
  let last: Promise<void> = Promise.resolve();
  const server: Server = createServer((request, response) => {
    const chunks: Buffer[] = [];
    request.on('data', (chunk: Buffer) => chunks.push(chunk));
    request.on('end', () => {
      const args = Buffer.concat(chunks).toString('utf8').split('\0').slice(0, -1);
      runs += 1;
      const base = join(bin, `run-${runs}`);
      last = last.then(async () => {
        const { code, out, err } = await verbHere(args).catch((error: unknown) => ({
          code: 70,
          out: '',
          err: `${error}\n`,
        }));
        for (const [kind, text] of Object.entries({ out, err, code: `${code}` }))
          writeFileSync(`${base}.${kind}`, text);
        response.end(base);
      });
    });
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  const { port } = server.address() as AddressInfo;
  put(
    'brinekeep',
    `base=$(printf '%s\\0' "$@" | curl -sS --data-binary @- http://127.0.0.1:${port}/) || exit 70
cat "$base.out"; cat "$base.err" >&2; exit "$(cat "$base.code")"`,
  );
  const itself = [process.execPath, ...hubCommand()].map((word) => `'${word}'`).join(' ');
  put('brinekeep-itself', `exec ${itself} "$@"`);
  for (const tool of ['mosquitto_pub', 'mosquitto_sub'])
    put(tool, `exec /usr/bin/${tool} -h 127.0.0.1 -p ${brokerPort} "$@"`);
  return {
    bin,
    async stop() {
      process.chdir(before);
      await new Promise<void>((resolve) => server.close(() => resolve()));
    },
  };
}
