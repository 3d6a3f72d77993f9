import { Cautions, Failure } from '../corals/fields.tsx';
import { useAnswer } from '../kit/use-answer.ts';

/** Learned once a day; the course of the day moves by the hour. */
const askEveryMs = 300_000;

/** What pH and saturation do through the day, how fast gas is exchanged, and where a low pH comes from. */
export function GasPart({ system }: { system: string }) {
  const { answer, failure } = useAnswer('GET /api/gas/:system', { params: { system } }, askEveryMs);
  if (answer === undefined) return <Failure text={failure} />;
  const { ph, aragonite_saturation: aragonite } = answer;
  return (
    <section class="part" aria-labelledby="gas">
      <h3 id="gas">Day, night and air</h3>
      <Failure text={failure} />
      {answer.text.map((line) => (
        <p key={line}>{line}</p>
      ))}
      <Cautions texts={answer.cautions} />
      {ph !== null && (
        <details>
          <summary>Hour by hour</summary>
          <table>
            <thead>
              <tr>
                <th scope="col">Hour</th>
                <th scope="col">pH</th>
                <th scope="col">Lowest</th>
                {aragonite !== null && <th scope="col">Aragonite saturation</th>}
              </tr>
            </thead>
            <tbody>
              {ph.hours.map(({ hour, mean, low }) => (
                <tr key={hour}>
                  <td>{hour}:00</td>
                  <td>{mean.toFixed(2)}</td>
                  <td>{low.toFixed(2)}</td>
                  {aragonite !== null && (
                    <td>{aragonite.hours.find((each) => each.hour === hour)?.mean.toFixed(2) ?? '–'}</td>
                  )}
                </tr>
              ))}
            </tbody>
          </table>
        </details>
      )}
    </section>
  );
}
