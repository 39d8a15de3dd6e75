import { afterEach, describe, expect, it } from 'vitest';
import type { Link } from '../../src/link/link.js';
import { openSerial } from '../../src/link/open-serial.js';
import { systemTool } from '../support/system-tools.js';
import { listening } from './listening.js';
import { type SocatPair, socatPair } from './socat-pair.js';

const options = { baud: 115200, lineMax: 4096 };
const pairs: SocatPair[] = [];
const links: Link[] = [];
afterEach(async () => {
  for (const link of links.splice(0)) await link.close();
  for (const pair of pairs.splice(0)) pair.end();
});
const newPair = async () => {
  const pair = await socatPair();
  pairs.push(pair);
  return pair;
};
const opened = async (path: string) => {
  const link = await openSerial(path, options);
  links.push(link);
  return link;
};
const cpuMs = () => {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1000;
};

describe('a path that is no port', () => {
  it('when there is nothing then it is link.missing', async () => {
    await expect(openSerial('/dev/no-such-port', options)).rejects.toMatchObject({ code: 'link.missing', exit: 3 });
  });
  it('when it is a file, a folder or another device then it is link.not-a-port', async () => {
    for (const path of ['package.json', '/dev', '/dev/null'])
      await expect(openSerial(path, options)).rejects.toMatchObject({ code: 'link.not-a-port', exit: 3 });
  });
});

describe.skipIf(!systemTool('socat'))('a real port', () => {
  it('when it is open then a second open is busy and says by whom, and after closing it is free', async () => {
    const pair = await newPair();
    const first = await opened(pair.host);
    await expect(openSerial(pair.host, options)).rejects.toMatchObject({
      code: 'link.busy',
      message: expect.stringContaining(`in use by process ${process.pid} (`),
    });
    const heard = listening(first);
    await pair.write('undisturbed\n');
    await heard.until(() => heard.lines.length === 1);
    await first.close();
    await opened(pair.host);
  });

  it('when the far end is killed in the middle of a stream then closed is told, and no core stays busy', async () => {
    for (let run = 0; run < 8; run++) {
      const pair = await newPair();
      const link = await opened(pair.host);
      const heard = listening(link);
      const stream = (async () => {
        while (await pair.write('streaming away, line after line\n'.repeat(50)));
      })();
      await heard.until(() => heard.lines.length > 200);
      pair.socat.kill('SIGKILL');
      await heard.until(() => heard.closed.length > 0);
      await stream;
      pair.end();
      expect(heard.closed).toMatchObject([{ code: 'link.gone' }]);
    }
    // A read loop that spins takes all of a core: 100 ms of 100.
    const before = cpuMs();
    await new Promise((resolve) => setTimeout(resolve, 100));
    expect(cpuMs() - before).toBeLessThan(60);
  }, 240_000);

  it('when the port was lost then its lock is free for the next', async () => {
    const pair = await newPair();
    const heard = listening(await opened(pair.host));
    pair.socat.kill('SIGKILL');
    await heard.until(() => heard.closed.length > 0);
    await expect(openSerial(pair.host, options)).rejects.not.toMatchObject({ code: 'link.busy' });
  });
});
