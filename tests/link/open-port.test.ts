import { autoDetect } from '@serialport/bindings-cpp';
import { afterEach, describe, expect, it } from 'vitest';
import { ToolError } from '../../src/ground/errors.js';
import type { Link } from '../../src/link/link.js';
import { withReadGuard } from '../../src/link/linux-read-guard.js';
import { openPort } from '../../src/link/open-port.js';
import { realClock } from '../../src/link/real-clock.js';
import { systemTool } from '../support/system-tools.js';
import { listening } from './listening.js';
import { type SocatPair, socatPair } from './socat-pair.js';

/**
 * Unguarded, the binding may miss that the far end is gone, read on for ever, and take what is meant for the next port with
 * the same number, in this process also that of another test.
 */
const binding = process.platform === 'linux' ? withReadGuard(autoDetect()) : autoDetect();
const open: { end(): unknown }[] = [];
afterEach(async () => {
  for (const thing of open.splice(0).reverse()) await thing.end();
});

async function opened(lineMax = 100): Promise<{ pair: SocatPair; link: Link }> {
  const pair = await socatPair();
  open.push(pair);
  const link = await openPort({ path: pair.host, baud: 115200, lineMax, binding, clock: realClock });
  open.push({ end: () => link.close() });
  return { pair, link };
}

describe.skipIf(!systemTool('socat'))('a port that is opened', () => {
  it('when the far end sends lines in odd pieces then each line is heard once, as latin1', async () => {
    const { pair, link } = await opened();
    const heard = listening(link);
    for (const piece of ['one\ntw', 'o\n\n', '\xe2\xff\n', 'four\nfive', '\n']) await pair.write(piece);
    await heard.until(() => heard.lines.length === 5);
    expect(heard.lines).toEqual(['one', 'two', '\xe2\xff', 'four', 'five']);
  });

  it('when text is sent then it comes out at the far end byte for byte', async () => {
    const { pair, link } = await opened();
    const heard = listening(link);
    await link.send('caf\xe9\n');
    await link.send('next\n');
    await pair.write('seen\n');
    await heard.until(() => heard.lines.length === 1);
    while (!pair.heard().endsWith('next\n')) await new Promise((resolve) => setImmediate(resolve));
    expect(pair.heard()).toBe('caf\xe9\nnext\n');
  });

  it('when a line is too long then it alone is dropped, and told once', async () => {
    const { pair, link } = await opened(10);
    const heard = listening(link);
    await pair.write('before\n');
    for (let i = 0; i < 50; i++) await pair.write('endless ');
    await pair.write('\nafter\n0123456789\n0123456789A\nend\n');
    await heard.until(() => heard.lines.at(-1) === 'end');
    expect(heard.lines).toEqual(['before', 'after', '0123456789', 'end']);
    expect(heard.overlong).toBe(2);
  });

  it('when the rate is changed then the port goes on', async () => {
    const { pair, link } = await opened();
    const heard = listening(link);
    await link.setRate(500000);
    await pair.write('still here\n');
    await heard.until(() => heard.lines.length === 1);
  });

  it('when we close then closed is told once without a reason, and sending says that the port is gone', async () => {
    const { link } = await opened();
    const heard = listening(link);
    await Promise.all([link.close(), link.close()]);
    await link.close();
    expect(heard.closed).toEqual([null]);
    await expect(link.send('x\n')).rejects.toMatchObject({ code: 'link.gone' });
    await expect(link.setRate(115200)).rejects.toMatchObject({ code: 'link.gone' });
  });

  it('when the far end goes while nothing is said then closed is told once, with link.gone', async () => {
    const { pair, link } = await opened();
    const heard = listening(link);
    pair.end();
    await heard.until(() => heard.closed.length > 0);
    await expect(link.send('x\n')).rejects.toMatchObject({ code: 'link.gone' });
    await link.close();
    expect(heard.closed).toHaveLength(1);
    expect(ToolError.is(heard.closed[0], 'link.gone')).toBe(true);
  });
});
