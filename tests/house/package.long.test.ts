// The package that npm makes: nothing in it that only a clone can run, and the clone is afterwards what it was.
import { execFileSync } from 'node:child_process';
import { cpSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';

const clone = mkdtempSync(join(tmpdir(), 'romkiln-package-'));
afterAll(() => rmSync(clone, { recursive: true, force: true }));

describe('the package', () => {
  it('when it is packed then it has no scripts, and starts as it stands', () => {
    for (const name of ['package.json', 'README.md', 'LICENSE', 'bin', 'dist'])
      cpSync(name, join(clone, name), { recursive: true });
    const before = readFileSync(join(clone, 'package.json'), 'utf8');
    execFileSync('npm', ['pack', '--silent'], { cwd: clone });
    expect(readFileSync(join(clone, 'package.json'), 'utf8')).toBe(before);
    execFileSync('tar', ['xzf', 'romkiln-0.1.0.tgz'], { cwd: clone });
    const inPackage = (name: string): string => join(clone, 'package', name);
    const facts = JSON.parse(readFileSync(inPackage('package.json'), 'utf8'));
    expect(facts).not.toHaveProperty('scripts');
    expect(facts).not.toHaveProperty('devDependencies');
    expect(readdirSync(inPackage('bin'))).toEqual(['parts.cjs', 'romkiln.cjs']);
    expect(readFileSync(inPackage('README.md'), 'utf8')).toMatch(
      /^# romkiln\n\n[^#]*?Installed as a package[^#]*?npm start/,
    );
    cpSync('node_modules/damerau-levenshtein', inPackage('node_modules/damerau-levenshtein'), { recursive: true });
    expect(execFileSync(process.execPath, [inPackage(facts.bin.romkiln), '--help'], { encoding: 'utf8' })).toContain(
      'Usage: romkiln',
    );
  });
});
