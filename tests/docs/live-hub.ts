import { configOf, roomText, scratchRoom, startHubHere } from '../servers/hub-process.ts';
import type { OpenApiDocument } from './openapi-document.ts';

export type SaidByHub = { document: OpenApiDocument; metrics: string };

/** What a running hub says of itself: its OpenAPI document and its figures. The hub is stopped again. */
export async function askHubOfItself(): Promise<SaidByHub> {
  const scratch = scratchRoom();
  const hub = await startHubHere(configOf(roomText(scratch.dir)));
  try {
    return await saidBy(hub.url);
  } finally {
    await hub.stop();
    scratch.remove();
  }
}

export async function saidBy(url: string): Promise<SaidByHub> {
  const text = async (path: string) => (await fetch(`${url}${path}`)).text();
  return { document: JSON.parse(await text('/openapi.json')) as OpenApiDocument, metrics: await text('/metrics') };
}
