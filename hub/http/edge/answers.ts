import type { FastifyBaseLogger, FastifySerializerCompiler } from 'fastify';
import { serializerCompiler } from 'fastify-type-provider-zod';
import type { ZodType } from 'zod';

type Compiler = FastifySerializerCompiler<ZodType>;

/**
 * Sends answers as the contract has them. Who looks at his tanks must not be met by an error because of one odd number: an answer that
 * is not of the contract is logged and sent as it is.
 *
 * @param isStrict  refuses it instead, for tests
 */
export function answersBy(log: FastifyBaseLogger, isStrict: boolean): Compiler {
  const compile = serializerCompiler as Compiler;
  return isStrict
    ? compile
    : (route) => {
        const write = compile(route);
        return (answer) => {
          try {
            return write(answer);
          } catch (error) {
            log.error({ err: error, route: `${route.method} ${route.url}` }, 'an answer is not of the contract');
            return JSON.stringify(answer);
          }
        };
      };
}
