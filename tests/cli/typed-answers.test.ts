// Answers that come through standard input: an end without a newline, and an input that never ends.
import { spawn, spawnSync } from 'node:child_process';
import { closeSync, existsSync, openSync } from 'node:fs';
import { describe, expect, it } from 'vitest';

const words = ['bin/romkiln.js', 'suspects', 'tests/support/tide-gauge.yaml', '--bench'];

describe('answers from standard input', () => {
  it('when the last one has no newline then it is heard', () => {
    const { stderr, stdout } = spawnSync(process.execPath, words, { input: '?\n?', encoding: 'utf8' });
    expect(stderr.match(/what does the display show/g)).toHaveLength(3);
    expect(stderr + stdout).toContain('No answer so far tells anything');
  });

  it.skipIf(process.platform === 'win32')('when the person interrupts then no answer is waited for', async () => {
    const asking = spawn(process.execPath, words, { stdio: ['pipe', 'ignore', 'pipe'] });
    asking.stderr.on('data', (said: Buffer) => {
      if (said.includes('what does the display show')) asking.kill('SIGINT');
    });
    expect(await new Promise((ended) => asking.on('close', ended))).toBe(130);
  });

  it.skipIf(!existsSync('/dev/zero'))('when a line never ends then that is the end of the answers', () => {
    const endless = openSync('/dev/zero', 'r');
    const ended = spawnSync(process.execPath, words, { stdio: [endless, 'pipe', 'pipe'], encoding: 'utf8' });
    closeSync(endless);
    expect(ended.stderr).not.toMatch(/RangeError| at /);
    expect(ended.stderr + ended.stdout).toContain('No answer so far tells anything');
    expect(ended.status).toBe(130);
  });
});
