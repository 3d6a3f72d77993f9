import { openSync, writeSync } from 'node:fs';
import mqtt from 'mqtt';

/**
 * A probe gone wild, as a process of its own: so many lines a second on a serial line, or messages a second by MQTT QoS 0,
 * for so many seconds. Says at its end how many it got out.
 */
const [kind = '', to = '', perSecond = '5000', seconds = '4'] = process.argv.slice(2);

async function say(): Promise<(n: number) => boolean> {
  if (kind === 'mqtt') {
    const client = await mqtt.connectAsync(`mqtt://127.0.0.1:${to}`);
    return (n) => {
      client.publish('wild/t', (25.2 + (n % 900) / 1000).toFixed(3), { qos: 0 });
      return true;
    };
  }
  // Not waiting: a terminal whose other end does not keep up says no, and the line is lost as on a real wire.
  const fd = openSync(to, 'w');
  return (n) => {
    try {
      writeSync(fd, `t=${(25.2 + (n % 900) / 1000).toFixed(3)}\n`);
      return true;
    } catch {
      return false;
    }
  };
}

const out = await say();
const startMs = performance.now();
let n = 0;
let said = 0;
const timer = setInterval(() => {
  const elapsed = (performance.now() - startMs) / 1000;
  const due = Math.min(elapsed, Number(seconds)) * Number(perSecond);
  for (; n < due; n += 1) if (out(n)) said += 1;
  if (elapsed < Number(seconds)) return;
  clearInterval(timer);
  console.log(`said ${said}`);
  setTimeout(() => process.exit(), 500);
}, 5);
