import { execFileSync, spawnSync } from 'node:child_process';
import { readdirSync, readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { afterAll, expect, test } from 'vitest';
import { layers } from '../layering/import-graph.mjs';
import { plantedTree } from '../layering/planted.ts';
import { patience } from '../servers/server-process.ts';
import { repository } from './doc-blocks.ts';

/** A copy of the sources, on which a recipe of DEVELOPERS.md is followed. */
const tree = plantedTree();
afterAll(() => tree.remove());
const sources = execFileSync('git', ['ls-files', '-co', '--exclude-standard', 'rules', 'hub', 'adapters'], {
  encoding: 'utf8',
});
for (const path of ['package.json', 'tsconfig.json', ...sources.trim().split('\n')]) tree.copy(path);

/** Changes a file of the copy. */
function edit(path: string, change: (text: string) => string): void {
  const before = readFileSync(join(tree.root, path), 'utf8');
  const after = change(before);
  expect(after, path).not.toBe(before);
  tree.put(path, after);
}

/** The files of the product in which the compiler finds something missing. */
function asksFor(): string[] {
  const { stdout } = spawnSync(resolve('node_modules/.bin/tsc'), ['-p', 'tsconfig.json'], {
    cwd: tree.root,
    encoding: 'utf8',
  });
  return [...new Set([...stdout.matchAll(/^(\S+?)\(\d+,\d+\): error/gm)].map(([, file = '']) => file))].sort();
}

/** What the list of kinds and the configuration say, in a process that reads the copy. */
function ruleKindsThere(): string {
  const source = "import { ruleKinds } from '#rules/bands/kinds/list.ts'; console.log(ruleKinds.join(' '));";
  tree.put('ask.mts', source);
  return execFileSync(process.execPath, ['--conditions=source', '--import', import.meta.resolve('tsx'), 'ask.mts'], {
    cwd: tree.root,
    encoding: 'utf8',
  });
}

// The compiler reads the whole product.
const unhurried = { timeout: 300_000 * patience() };

test('a new kind of alarms takes more than its file and its place in the list', unhurried, () => {
  tree.put(
    'rules/bands/kinds/orp-low.ts',
    `import { conditionBelow } from '../condition.ts';
import type { AlarmKind } from './kind.ts';

export const orpLow: AlarmKind<'orp_low', 'orpLow', never> = {
  id: 'orp_low',
  means: 'The redox potential is lower than it should be in a tank.',
  firstLook: 'look for something dead.',
  appliesTo: 'metric',
  hasDeadband: true,
  onStream: {
    orpLow: {
      slot: 10,
      defaults: ({ metric }) => (metric === 'orp' ? { priority: 'low', limit: 200, deadband: 20 } : undefined),
      judge: { each: 'value', condition: ({ value, settings }) => conditionBelow(value, settings.limit, settings.deadband) },
      raised: ({ name, value }) => \`\${name} is \${value}.\`,
    },
  },
  elsewhere: {},
};
`,
  );
  edit('rules/bands/kinds/list.ts', (text) =>
    text
      .replace('import { outOfBand }', "import { orpLow } from './orp-low.ts';\nimport { outOfBand }")
      .replace('  containerLow,\n] as const', '  containerLow,\n  orpLow,\n] as const'),
  );
  expect(asksFor()).toEqual([]);
  expect(ruleKindsThere()).toContain(' orp_low');
});

/** What a process that reads the copy answers to a piece of its code. */
function answerThere(source: string): unknown {
  tree.put('ask.mts', source);
  const run = ['--conditions=source', '--import', import.meta.resolve('tsx'), 'ask.mts'];
  return JSON.parse(execFileSync(process.execPath, run, { cwd: tree.root, encoding: 'utf8' }));
}

test('a new analyte takes more than an entry in its table, or has no estimate, forecast or advice', unhurried, () => {
  const table = 'rules/quantity/analyte-table.ts';
  const before = new Map(
    sources
      .trim()
      .split('\n')
      .map((path) => [path, readFileSync(join(tree.root, path), 'utf8')]),
  );
  edit(table, (text) =>
    text.replace(
      '} as const satisfies Record<string, AnalyteData>;',
      `  silicate: {
    ...{ label: 'Silicate', unit: 'mg/L', decimals: 2, testRange: [0, 50], unitEnding: '_mg_l' },
    units: ion(76.083),
    kitUnits: ['mg/L'],
    checks: { failBelow: 0, failAbove: 50, suspectAbove: 20 },
    ...{ outOfBand: 'low', testEveryDays: 30 },
    quantity: 'silicate_mg_L',
    ion: { g_mol: 76.083, perGram: 1000 },
    demand: {
      ...{ usualTestSd: 0.05, outlierSd: 0.5, jumpSd: 0.3, levelSd: 0.002, newWater: { level: 0.1, sd: 0.1 } },
      ...{ firstDemand: 0.02, firstDemandSd: 0.05, leastDemand: 0.005, detectionLimit: 0.05 },
    },
    advice: { mostPerDay: 0.1, askedAbovePerDay: 0.3, testGoodForDays: 14, rhythmDays: 7 },
  },
} as const satisfies Record<string, AnalyteData>;`,
    ),
  );
  expect(asksFor()).toEqual([]);
  const changed = [...before].filter(([path, text]) => readFileSync(join(tree.root, path), 'utf8') !== text);
  expect(changed.map(([path]) => path)).toEqual([table]);
  expect(readFileSync(join(repository, 'DEVELOPERS.md'), 'utf8')).toContain(`- **An analyte** (1)`);
  const told = answerThere(`
    import { configSchema } from '#hub/model/config/schema.ts';
    import { openDiary } from '#hub/reports/advise/diary.ts';
    import { tested } from '#hub/web/src/room/entry-kinds.ts';
    const config = configSchema.parse({
      site: { name: 'Invented room' },
      systems: [{
        id: 'a', name: 'A', volume_l: 100, bands: { silicate: { low: 0.5, high: 1 } },
        stocks: [{ id: 's', name: 'Silicate', substance: 'own_strength', raises: 'silicate', raises_100_l_by_per_ml: 0.05 }],
      }],
    });
    const diary = openDiary(config);
    const at = (day) => ({ time: new Date(Date.UTC(2026, 0, 5 + day)).toISOString(), system: 'a' });
    for (let day = 0; day < 20; day += 2) diary.enter({ ...at(day), kind: 'test', analyte: 'silicate', value: 0.8 - 0.02 * day });
    const answer = diary.ask('a', Date.UTC(2026, 0, 23, 1));
    console.log(JSON.stringify({ units: tested.find(({ id }) => id === 'silicate').units, answer }));
  `) as {
    units: string[];
    answer: {
      advice: { analyte: string; kind: string; plan: { stock: string }[] }[];
      estimates: { analyte: string; demand_per_day: number }[];
    };
  };
  expect(told.units).toEqual(['mg/L']);
  expect(told.answer.estimates).toMatchObject([{ analyte: 'silicate', demand_per_day: expect.closeTo(0.02, 2) }]);
  expect(told.answer.advice).toMatchObject([{ analyte: 'silicate', kind: 'dose', plan: [{ stock: 's' }] }]);
});

/** The number of files that DEVELOPERS.md names for a recipe. */
function numberOf(recipe: string): number {
  const found = new RegExp(`^- \\*\\*${recipe}\\*\\* \\((\\d+)\\)`, 'm').exec(
    readFileSync(join(repository, 'DEVELOPERS.md'), 'utf8'),
  )?.[1];
  return Number(found);
}

test(
  'a new page takes more or fewer files than DEVELOPERS.md says, or the compiler lets one be forgotten',
  unhurried,
  () => {
    tree.put(
      'hub/web/src/tide/tide-view.tsx',
      `import type { PlaceProps } from '../kit/places.ts';

export default function TideView({ view }: PlaceProps) {
  return <main class="page">{view.site}</main>;
}
`,
    );
    edit('hub/web/src/kit/place-names.ts', (text) => text.replace("  'more',\n", "  'more',\n  'tide',\n"));
    expect(asksFor()).toEqual(['hub/web/src/kit/places.ts']);
    edit('hub/web/src/kit/places.ts', (text) =>
      text.replace(
        '} as const satisfies Record<Place',
        "  tide: () => import('../tide/tide-view.tsx') as Promise<Loaded>,\n} as const satisfies Record<Place",
      ),
    );
    edit('hub/web/src/more/more-view.tsx', (text) =>
      text.replace('] as const;', "  { address: '#/tide', name: 'Tide', about: 'invented' },\n] as const;"),
    );
    expect(asksFor()).toEqual([]);
    expect(numberOf('A page')).toBe(4);
  },
);

test('a new way to people takes more than its folder and its line in the composition root', unhurried, () => {
  tree.put(
    'adapters/notify/paper/paper-notifier.ts',
    `import type { Notifier } from '../../ports/notifier.ts';

export function createPaperNotifier(): Notifier {
  return {
    destination: 'paper',
    itemOf: (notice) => (notice.is === 'line' ? notice.line : undefined),
    placeOf: () => undefined,
    isUp: () => true,
    send: () => Promise.resolve({ is: 'acknowledged' }),
    reconnect: () => {},
  };
}
`,
  );
  edit('hub/compose.ts', (text) =>
    text
      .replace(
        'import { createMqttNotifier }',
        "import { createPaperNotifier } from '#adapters/notify/paper/paper-notifier.ts';\nimport { createMqttNotifier }",
      )
      .replace('[createMqttNotifier(topics, link)]', '[createMqttNotifier(topics, link), createPaperNotifier()]'),
  );
  expect(asksFor()).toEqual([]);
  expect(numberOf('A notifier')).toBe(2);
  const told = answerThere(`
    import { systemClock } from '#adapters/clock/system-clock.ts';
    import { hubAdaptersOn } from '#hub/compose.ts';
    const topics = { phone: 'p', escalated: 'e', week: 'w', alarm: (alarm) => alarm };
    const ways = hubAdaptersOn(systemClock).createNotifiers({ topics, link: () => undefined });
    console.log(JSON.stringify(ways.map(({ destination }) => destination)));
  `);
  expect(told).toEqual(['mqtt', 'paper']);
});

test('a folder is not on the tour of the house', () => {
  const tour =
    /^## The house\n\n((?: {4}.*\n)+)/m.exec(readFileSync(join(repository, 'DEVELOPERS.md'), 'utf8'))?.[1] ?? '';
  const foldersOf = (path: string) =>
    readdirSync(join(repository, path), { withFileTypes: true })
      .filter((entry) => entry.isDirectory())
      .map(({ name }) => name);
  const names = [
    ...['adapters', 'hub'].flatMap(foldersOf),
    // Words such as clock stand in the prose of the list too.
    ...foldersOf('rules').map((name) => `      ${name}/`),
    ...layers.flatMap((layer: string) => foldersOf(`hub/${layer}`)),
  ];
  expect(names.length).toBeGreaterThan(60);
  expect(names.filter((name) => !new RegExp(`(?<!\\w)${name}(?!\\w)`).test(tour))).toEqual([]);
});
