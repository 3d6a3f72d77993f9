import { connect } from 'mqtt';
import { SerialPort } from 'serialport';
import { createLineFramer } from '#adapters/serial/line-framer.ts';
import { serialDefaults } from '#adapters/serial/options.ts';
import { sayReady, sayResult, task } from './child.ts';
import { createStopwatch } from './flood.ts';

/** The plain thing beside the hub: a subscriber that parses each message, or a reader of a serial port that cuts lines. */
const given = task<{ expected: number; mqtt?: { port: number; clientId: string }; serialPath?: string }>();
const stopwatch = createStopwatch(given.expected);
let isEnded = false;

function end(): void {
  if (isEnded) return;
  isEnded = true;
  sayResult(stopwatch.end(given.expected));
}

if (given.mqtt !== undefined) {
  const { port, clientId } = given.mqtt;
  const client = connect(`mqtt://127.0.0.1:${port}`, { clientId, clean: false });
  client.on('message', (_topic, payload) => {
    const pack = JSON.parse(payload.toString('utf8')) as { v: number }[];
    if (stopwatch.take(pack[0]!.v)) end();
  });
  client.once('connect', sayReady);
} else if (given.serialPath !== undefined) {
  const framer = createLineFramer(
    { ...serialDefaults, lineEnd: 'lf' },
    {
      line: (bytes) => {
        if (stopwatch.take(bytes.length)) end();
      },
      skipped: () => {},
    },
  );
  const port = new SerialPort({ path: given.serialPath, baudRate: 115_200 });
  port.on('data', (chunk: Buffer) => framer.push(chunk, performance.now()));
  port.once('open', sayReady);
}
