import type { HistoryReader } from '../ports/history.ts';
import type { InfluxTarget } from './ask-server.ts';
import { createHistoryRequest } from './history-request.ts';
import { readInfluxql } from './read-influxql.ts';
import { readMetricsql } from './read-metricsql.ts';

/**
 * Reads back what hubs mirror into a time-series server: InfluxQL, or MetricsQL where VictoriaMetrics stands behind the `v1`
 * address. Which of the two it is shows with the first answer, and is remembered.
 *
 * Is: bounded in time and size; a server that is away, refuses or answers something else is said to be that.
 * Is not: points without the tag `hub`; they were mirrored before there was one, or by another program.
 */
export function createHistoryReader(target: InfluxTarget): HistoryReader {
  const request = createHistoryRequest(target);
  let isVictoria = false;
  return {
    async read(asked, signal) {
      if (!isVictoria) {
        const answer = await readInfluxql(request, target, asked, signal);
        if (answer !== 'other_server') return answer;
        isVictoria = true;
      }
      return readMetricsql(request, target.database, asked, signal);
    },
  };
}
