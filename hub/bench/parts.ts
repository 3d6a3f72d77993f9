import type { HubAdapters } from '#adapters/ports/hub-adapters.ts';
import type { ReadingsFiles } from '#adapters/ports/readings-files.ts';
import type { Tables } from '#adapters/ports/tables.ts';
import { type AnswerTable, calcPart } from './calc-table.ts';
import { growthPart } from './growth.ts';
import type { BenchPart } from './measurement.ts';
import { replayParts } from './replay-rate.ts';
import { rulesPart } from './rules-cost.ts';

export type BenchAdapters = { hub: HubAdapters; tables: Tables; readings: ReadingsFiles };

/** What is measured in this process alone, without a server, a device or a hub. */
export function partsOfOneProcess(adapters: BenchAdapters, answerTable: AnswerTable): BenchPart[] {
  const { hub, tables, readings } = adapters;
  return [
    calcPart(answerTable, tables, hub.clock),
    rulesPart(hub.clock),
    ...replayParts(readings, hub.clock),
    growthPart(hub),
  ];
}
