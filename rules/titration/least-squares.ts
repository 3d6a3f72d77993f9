/** A fit of a few parameters to many points. */
export type LeastSquaresFit = {
  parameters: number[];
  /** Observed less modelled, in the order of the points. */
  residuals: number[];
  /** Sum of squared residuals. */
  sumOfSquares: number;
  /**
   * Inverse of JᵀJ at the end: times the variance of one residual it is the covariance of the parameters. Empty when the
   * points cannot tell the parameters apart.
   */
  inverseNormal: number[][];
  /** How each residual moves with each parameter at the end: one row for each parameter, in the order of the points. */
  slopes: number[][];
  hasConverged: boolean;
};

/**
 * Solves a small system by elimination; undefined when it is singular. A matrix JᵀJ is positive definite where the points tell
 * the parameters apart, so no rows need to change places.
 */
function solve(matrix: readonly number[][], right: readonly number[]): number[] | undefined {
  const size = right.length;
  const rows = matrix.map((row, index) => [...row, right[index]!]);
  for (let column = 0; column < size; column += 1) {
    const head = rows[column]!;
    for (let row = 0; row < size; row += 1) {
      if (row === column) continue;
      const factor = rows[row]![column]! / head[column]!;
      for (let place = column; place <= size; place += 1) rows[row]![place]! -= factor * head[place]!;
    }
  }
  const solution = rows.map((row, index) => row[size]! / row[index]!);
  return solution.every(Number.isFinite) ? solution : undefined;
}

/**
 * Non-linear least squares by Levenberg and Marquardt, with derivatives by central differences.
 *
 * @param residualsAt  residuals (observed less modelled) for a set of parameters; more residuals than parameters
 * @param start        where to begin
 * @param steps        step of each parameter for its derivative, in its own unit
 * @source Marquardt 1963, J. Soc. Ind. Appl. Math. 11:431
 */
export function leastSquares(
  residualsAt: (parameters: readonly number[]) => number[],
  start: readonly number[],
  steps: readonly number[],
): LeastSquaresFit {
  const squared = (residuals: readonly number[]): number => residuals.reduce((sum, each) => sum + each * each, 0);
  const slopesAt = (at: readonly number[]): number[][] =>
    at.map((_, index) => {
      const step = steps[index]!;
      const shifted = (by: number): number[] =>
        residualsAt(at.map((parameter, place) => (place === index ? parameter + by : parameter)));
      const above = shifted(step);
      const below = shifted(-step);
      return above.map((residual, point) => (residual - below[point]!) / (2 * step));
    });
  const normalOf = (slopes: readonly number[][]): number[][] =>
    slopes.map((one) => slopes.map((other) => one.reduce((sum, slope, point) => sum + slope * other[point]!, 0)));

  let parameters = [...start];
  let residuals = residualsAt(parameters);
  let sumOfSquares = squared(residuals);
  let damping = 1e-3;
  let hasConverged = false;
  for (let iteration = 0; iteration < 60 && !hasConverged && Number.isFinite(sumOfSquares); iteration += 1) {
    const slopes = slopesAt(parameters);
    const normal = normalOf(slopes);
    const downhill = slopes.map((slope) => -slope.reduce((sum, each, point) => sum + each * residuals[point]!, 0));
    let isBetter = false;
    // Thirty tenfold dampings of the smallest one make any step too short to matter.
    for (let attempt = 0; attempt < 30 && !isBetter && !hasConverged; attempt += 1) {
      const damped = normal.map((row, index) =>
        row.map((each, place) => (place === index ? each * (1 + damping) : each)),
      );
      const move = solve(damped, downhill);
      if (!move) break;
      const candidate = parameters.map((parameter, index) => parameter + move[index]!);
      const candidateResiduals = residualsAt(candidate);
      const candidateSum = squared(candidateResiduals);
      // A step far below the step of the derivatives changes nothing that the fit could tell.
      hasConverged = move.every((each, index) => Math.abs(each) < 1e-5 * steps[index]!);
      isBetter = candidateSum <= sumOfSquares;
      if (isBetter) {
        parameters = candidate;
        residuals = candidateResiduals;
        sumOfSquares = candidateSum;
        damping = Math.max(damping / 10, 1e-12);
      } else damping *= 10;
    }
    if (!isBetter) break;
  }

  const slopes = slopesAt(parameters);
  const normal = normalOf(slopes);
  const columns = parameters.map((_, index) =>
    solve(
      normal,
      parameters.map((_, place) => (place === index ? 1 : 0)),
    ),
  );
  const isKnown = columns.every((column) => column !== undefined);
  return {
    parameters,
    residuals,
    sumOfSquares,
    slopes,
    inverseNormal: isKnown ? columns.map((column) => column!) : [],
    hasConverged: hasConverged && isKnown,
  };
}
