import fastify from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import pino from 'pino';
import { expect, test } from 'vitest';
import { z } from 'zod';
import { answersBy } from '#hub/http/edge/answers.ts';

async function answerOf(isStrict: boolean, temperature: number) {
  const logged: string[] = [];
  const log = pino({ level: 'error' }, { write: (line: string) => void logged.push(line) });
  const server = fastify().withTypeProvider<ZodTypeProvider>();
  server.setSerializerCompiler(answersBy(log, isStrict));
  server.get('/room', { schema: { response: { 200: z.object({ temperature: z.number() }) } } }, () => ({
    ...{ temperature, secret: 'abc' },
  }));
  const { statusCode, body } = await server.inject('/room');
  await server.close();
  return { statusCode, body, logged };
}

test('one odd number takes the whole page from the keeper, or nobody learns of it', async () => {
  const { statusCode, body, logged } = await answerOf(false, Number.NaN);
  expect(statusCode).toBe(200);
  expect(JSON.parse(body)).toMatchObject({ temperature: null });
  expect(logged).toHaveLength(1);
  expect(logged[0]).toContain('GET /room');
});

test('a field that the contract does not have goes out', async () => {
  expect(await answerOf(false, 25.4)).toEqual({ statusCode: 200, body: '{"temperature":25.4}', logged: [] });
});

test('in tests an answer beside the contract passes', async () => {
  expect((await answerOf(true, Number.NaN)).statusCode).toBe(500);
});
