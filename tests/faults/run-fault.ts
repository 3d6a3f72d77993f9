import type { Fault } from './fault.ts';
import { inScene } from './scene.ts';
import type { Result } from './table.ts';

/** Runs one fault to its end; a fault that fails is a result as well, so that the others still run. */
export async function runFault(fault: Fault, amount: number): Promise<Result> {
  const startMs = performance.now();
  const named = { fault: fault.name, title: fault.title, amount: `${amount} ${fault.amount.of}` };
  const seconds = () => (performance.now() - startMs) / 1000;
  try {
    const rows = await inScene((scene) => fault.run(scene, amount));
    return { ...named, seconds: seconds(), rows };
  } catch (error) {
    const failed = error instanceof Error ? (error.stack ?? error.message) : String(error);
    return { ...named, seconds: seconds(), rows: [], failed };
  }
}
