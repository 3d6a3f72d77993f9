import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';
import { loadProtocols, protocolFromYaml } from '#hub/judgement/arrivals/protocol-files.ts';
import { ownProtocols } from '#rules/arrivals/own-protocols.ts';
import { roomText } from '../../../servers/hub-process.ts';
import { verbHere } from '../../cli/verb-here.ts';

const examples = fileURLToPath(new URL('../../../../fixtures/protocols', import.meta.url));

test('an example that people start from cannot be run', () => {
  const { known, problems } = loadProtocols(examples);
  expect(problems).toEqual([]);
  expect(known.map(({ id }) => id)).toEqual(
    expect.arrayContaining(['dip_and_inspect', 'repeat_dip', 'two_short_dips', 'acclimate_only']),
  );
});

test('the example of a protocol is another one than the protocol', () => {
  const steps = (id: string, file: string) => {
    const read = protocolFromYaml(readFileSync(join(examples, file), 'utf8'), file).protocol;
    // The maximum of ten minutes is written out in the file and implied in ours.
    const written = read?.steps.map((step) =>
      step.kind === 'soak' ? { kind: step.kind, minutes: step.minutes } : step,
    );
    expect(written).toEqual(ownProtocols.find((each) => each.id === id)?.steps);
  };
  steps('dip_and_inspect', 'dip-and-inspect.yaml');
  steps('repeat_dip', 'repeat-dip.yaml');
});

test('a mistake in a protocol is not found by its line, or takes the good files with it', async () => {
  const dir = mkdtempSync(join(tmpdir(), 'brinekeep-protocols-'));
  try {
    writeFileSync(join(dir, 'good.yaml'), 'id: mine\nname: Mine\nsteps:\n  - {step: inspection}\n');
    writeFileSync(
      join(dir, 'long.yaml'),
      'id: long\nname: Long\nsteps:\n  - {step: dip_bath, tank_share: 0.3}\n  - {step: soak, minutes: 15}\n',
    );
    writeFileSync(join(dir, 'typo.yaml'), 'id: typo\nname: Typo\nsteps:\n  - {step: soaking, minutes: 5}\n');
    writeFileSync(join(dir, 'broken.yaml'), 'id: [\n');
    writeFileSync(join(dir, 'twice.yaml'), 'id: mine\nname: Twice\nsteps:\n  - {step: inspection}\n');
    const { known, problems } = loadProtocols(dir);
    expect(known.map(({ id }) => id)).toEqual([...ownProtocols.map(({ id }) => id), 'mine']);
    expect(known.at(-1)?.name).toBe('Mine');
    expect(problems).toEqual(
      expect.arrayContaining([
        expect.stringMatching(/^long\.yaml:4 steps\[0\]: .*0\.3, allowed: 0\.5 to 1/),
        expect.stringMatching(/^long\.yaml:5 steps\[1\]: A soak of 15 minutes/),
        expect.stringMatching(/^long\.yaml:5 steps\[1\]: Nothing rinses/),
        expect.stringMatching(/^typo\.yaml:4 steps\[0\]\.step: found "soaking"/),
        expect.stringMatching(/^broken\.yaml:\d+: found/),
        expect.stringMatching(/^twice\.yaml: found the id mine as in good\.yaml/),
      ]),
    );
    const config = join(dir, 'room.json');
    writeFileSync(config, roomText(dir, { protocols_dir: dir }));
    const checked = await verbHere(['check', config]);
    expect([checked.code, checked.err]).toEqual([
      1,
      expect.stringContaining('long.yaml:5 steps[1]: A soak of 15 minutes'),
    ]);
    expect(loadProtocols(join(dir, 'nowhere')).known).toHaveLength(ownProtocols.length);
  } finally {
    rmSync(dir, { recursive: true });
  }
});
