import type { TitrationAnswer } from '../../../api/titrations.ts';
import { readAmount, readNumber, withUnit } from '../room/read-unit.ts';

const decimals = 2;
const shareNames = {
  points: 'scatter of the points',
  slope: 'slope of the probe',
  co2: 'CO2 that may be left',
  acid: 'strength of the acid',
  sample: 'size of the sample',
} as const;

/** The result with its interval, where that comes from, and the points, newest first. */
export function ResultSoFar({ run }: { run: TitrationAnswer }) {
  const { answer, gran_dkh, points, acid_unit, no_answer } = run;
  return (
    <section class="part" aria-labelledby="titrate-result">
      <h3 id="titrate-result">{withUnit('So far: alkalinity', 'alkalinity')}</h3>
      {answer === null ? (
        <p>{no_answer ?? 'The result appears with the fourth point between pH 4 and 3.'}</p>
      ) : (
        <>
          <p class="titrate-result">
            <b>{readNumber('alkalinity', answer.alkalinity_dkh, decimals)}</b>{' '}
            <span>
              ± {readAmount('alkalinity', (answer.high95_dkh - answer.low95_dkh) / 2, answer.alkalinity_dkh, decimals)},
              95 %, from {answer.points_used} points
            </span>
          </p>
          <p>
            {gran_dkh === null ? '' : `Gran's straight line: ${readNumber('alkalinity', gran_dkh, decimals)}. `}
            Most of the doubt: {largestShare(answer.shares_umol_kg)}.
          </p>
        </>
      )}
      {points.length > 0 && (
        <table class="titrate-points">
          <caption>Points</caption>
          <thead>
            <tr>
              <th scope="col">Acid, {acid_unit}</th>
              <th scope="col">pH</th>
              <th scope="col">Probe</th>
            </tr>
          </thead>
          <tbody>
            {points.toReversed().map((point) => (
              <tr key={point.acid}>
                <td>{point.acid}</td>
                <td>{point.ph.toFixed(3)}</td>
                <td>{point.is_at_rest ? 'steady' : 'moving'}</td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
    </section>
  );
}

function largestShare(shares: NonNullable<TitrationAnswer['answer']>['shares_umol_kg']): string {
  const names = Object.keys(shareNames) as (keyof typeof shareNames)[];
  const largest = names.toSorted((one, other) => shares[other] - shares[one])[0] ?? 'points';
  return shareNames[largest];
}
