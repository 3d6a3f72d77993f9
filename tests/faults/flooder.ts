import { openSync, writeSync } from 'node:fs';
import mqtt from 'mqtt';

/**
 * A probe gone wild, as a process of its own: so many lines a second on a serial line, or messages a second by MQTT QoS 0,
 * for so many seconds. Says at its end how many it got out: what lies in its own memory, since the other end reads no faster,
 * is not out, and is given so long to go.
 */
const lingerMs = 120_000;
const [kind = '', to = '', perSecond = '5000', seconds = '4'] = process.argv.slice(2);

type Out = { say(n: number): boolean; left(): number };

async function begin(): Promise<Out> {
  if (kind === 'mqtt') {
    const client = await mqtt.connectAsync(`mqtt://127.0.0.1:${to}`);
    return {
      say(n) {
        client.publish('wild/t', (25.2 + (n % 900) / 1000).toFixed(3), { qos: 0 });
        return true;
      },
      left: () => client.stream.writableLength,
    };
  }
  // Not waiting: a terminal whose other end does not keep up says no, and the line is lost as on a real wire.
  const fd = openSync(to, 'w');
  return {
    say(n) {
      try {
        writeSync(fd, `t=${(25.2 + (n % 900) / 1000).toFixed(3)}\n`);
        return true;
      } catch {
        return false;
      }
    },
    left: () => 0,
  };
}

const out = await begin();
const startMs = performance.now();
let n = 0;
let said = 0;
const timer = setInterval(() => {
  const elapsed = (performance.now() - startMs) / 1000;
  const due = Math.min(elapsed, Number(seconds)) * Number(perSecond);
  for (; n < due; n += 1) if (out.say(n)) said += 1;
  if (elapsed < Number(seconds)) return;
  if (out.left() > 0 && elapsed < Number(seconds) + lingerMs / 1000) return;
  clearInterval(timer);
  console.log(`said ${said}, bytes left ${out.left()}, in ${elapsed.toFixed(1)} s`);
  setTimeout(() => process.exit(), 500);
}, 5);
