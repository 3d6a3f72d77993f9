import { statSync } from 'node:fs';
import { connect } from 'node:net';
import { join } from 'node:path';
import { Writable } from 'node:stream';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { csvLine } from '#adapters/csv/cells.ts';
import { withoutHidden } from '#hub/model/refusals/hidden-characters.ts';
import { createLiveClients } from '#hub/outside/live/live-clients.ts';
import type { Hub } from '#hub/room/hub.ts';
import { configOf, postJson, roomText, scratchRoom, startHubHere } from '../servers/hub-process.ts';

test.each([
  ['x;=cmd()', "x;'=cmd()"],
  ['x; @sum(1)', "x; '@sum(1)"],
  ['  =1+1', "'  =1+1"],
  ['\u00a0+1+1', "'\u00a0+1+1"],
  ['-3.5', '-3.5'],
  ['cleaned; all well', 'cleaned; all well'],
])('a spreadsheet runs what stands behind a semicolon or blanks: %j', (cell, written) => {
  expect(csvLine([cell])).toBe(`${written}\r\n`);
});

test('a terminal obeys what stands in a name', () => {
  // An escape sequence that sets the title, and one that turns the rest of the line around.
  expect(withoutHidden('frag \u001b]0;taken\u0007 \u202etank\u0000 ü 東')).toBe('frag ]0;taken tank ü 東');
  expect(withoutHidden('two\nlines\tand a tab')).toBe('two\nlines\tand a tab');
});

test('one token takes the places of all live pages', () => {
  const live = createLiveClients(() => 0);
  const stream = () => new Writable({ write: (_chunk, _encoding, done) => done() }) as never;
  const taken = Array.from({ length: 60 }, () => live.join(stream(), 'token')).filter(Boolean);
  expect(taken).toHaveLength(25);
  expect(live.join(stream(), 'phone')).toBe(true);
  live.stop();
});

describe('a hub', () => {
  const scratch = scratchRoom();
  let hub: Hub;
  beforeAll(async () => {
    hub = await startHubHere(configOf(roomText(scratch.dir)));
  }, 60_000);
  afterAll(async () => {
    await hub.stop();
    scratch.remove();
  });

  test.each(['\u0007', '\u001b[2J', '\u202e', '\u2066'])('a note keeps what nobody sees: %j', async (hidden) => {
    const answer = await postJson(`${hub.url}/api/tests`, {
      ...{ system: 'display', analyte: 'alkalinity', value: 8, confirmed: true, note: `all ${hidden} well` },
    });
    expect([answer.status, (await answer.json()) as object]).toEqual([
      400,
      expect.objectContaining({ detail: expect.stringMatching(/^note: found a control character/) }),
    ]);
  });

  test('a request with two hosts is answered by the first of them', async () => {
    const { port } = new URL(hub.url);
    const said = await new Promise<string>((resolve) => {
      const socket = connect(Number(port), '127.0.0.1', () =>
        socket.write(
          `GET /api/room HTTP/1.1\r\nHost: 127.0.0.1:${port}\r\nHost: other.example\r\nConnection: close\r\n\r\n`,
        ),
      );
      let text = '';
      socket.on('data', (chunk) => (text += chunk.toString('latin1')));
      socket.on('close', () => resolve(text));
    });
    expect(said.split('\r\n')[0]).toMatch(/ 40[03] /);
  });

  test('others on the machine can read the record', () => {
    for (const suffix of ['', '-wal']) {
      expect(statSync(join(scratch.dir, 'data', `brinekeep.db${suffix}`)).mode & 0o077, suffix).toBe(0);
    }
  });
});
