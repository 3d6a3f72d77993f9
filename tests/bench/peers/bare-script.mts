import { connect } from 'mqtt';
import { ReadlineParser, SerialPort } from 'serialport';
import { sayReady, sayResult, task } from './child.ts';
import { createStopwatch } from './flood.ts';

/** The plain thing beside the hub: a subscriber that parses each message, or a serial port whose lines are parsed. */
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
  const port = new SerialPort({ path: given.serialPath, baudRate: 115_200 });
  port.pipe(new ReadlineParser()).on('data', (line: string) => {
    // The first line may be torn.
    if (!line.startsWith('[') || !line.endsWith(']')) return;
    for (const { v } of JSON.parse(line) as { v: number }[]) if (stopwatch.take(v)) end();
  });
  port.once('open', sayReady);
}
