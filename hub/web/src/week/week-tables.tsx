const files = [
  { file: 'daily.csv', words: 'Daily figures' },
  { file: 'tests-doses.csv', words: 'Tests and doses' },
  { file: 'demand.csv', words: 'Demand' },
  { file: 'alarms.csv', words: 'Alarms' },
] as const;

/** The tables of a week; each opens in any spreadsheet. */
export function WeekTables({ week }: { week: string }) {
  return (
    <>
      {files.map(({ file, words }) => (
        <a key={file} href={`./api/weeks/${week}/${file}`} download>
          <span>
            {words} <span class="visually-hidden">of {week}</span> <span class="file-kind">(CSV)</span>
          </span>
        </a>
      ))}
    </>
  );
}
