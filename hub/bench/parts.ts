import type { VerbAdapters } from '../cli/verb-adapters.ts';
import { calcPart } from './calc-table.ts';
import { growthPart } from './growth.ts';
import type { BenchPart } from './measurement.ts';
import { replayParts } from './replay-rate.ts';
import { rulesPart } from './rules-cost.ts';

/** What is measured in this process alone, without a server, a device or a hub. */
export function partsOfOneProcess(adapters: VerbAdapters): BenchPart[] {
  const { hub, tables, readings } = adapters;
  return [calcPart(tables, hub.clock), rulesPart(hub.clock), ...replayParts(readings, hub.clock), growthPart(hub)];
}
