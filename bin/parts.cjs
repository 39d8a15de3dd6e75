// Loads the parts of the program, dist/run, and keeps what V8 compiled of them when they were built: that is two fifths of the time to be there (measured).
const { readFileSync, writeFileSync } = require('node:fs');
const { join } = require('node:path');
const { Script } = require('node:vm');

const keptName = 'compiled';
/** Compiled code is of use to the same Node alone. */
const maker = `${process.version} ${process.arch}`;

/** The compiled code of the parts by their names; null where there is none for this Node. One line tells where each stands behind it. */
function readKept(folder) {
  try {
    const bytes = readFileSync(join(folder, keptName));
    const end = bytes.indexOf('\n');
    const kept = JSON.parse(bytes.toString('latin1', 0, end));
    if (kept.maker !== maker) return null;
    return new Map(kept.parts.map(([name, from, to]) => [name, bytes.subarray(end + 1 + from, end + 1 + to)]));
  } catch {
    return null;
  }
}

/** A loader of parts, and the scripts of those that it has loaded. */
function loaderOf(folder, kept) {
  const loaded = new Map();
  const scripts = new Map();
  function load(name) {
    const known = loaded.get(name);
    if (known) return known.exports;
    const path = join(folder, name);
    const text = `(function(exports,require,module,__filename){${readFileSync(path, 'latin1')}\n})`;
    const script = new Script(text, { filename: path, cachedData: kept?.get(name) });
    scripts.set(name, script);
    const module = { exports: {} };
    loaded.set(name, module);
    const requirePart = (id) => (id.startsWith('./') ? load(id.slice(2)) : require(id));
    script.runInThisContext()(module.exports, requirePart, module, path);
    return module.exports;
  }
  return { load, scripts };
}

/** The program out of its parts. */
function loadProgram(folder) {
  const kept = readKept(folder);
  if (kept) return loaderOf(folder, kept).load('romkiln.cjs');
  // Node 22 and later can keep what it compiled by itself.
  require('node:module').enableCompileCache?.();
  return require(join(folder, 'romkiln.cjs'));
}

/** Keeps what V8 compiles while `use` works with the program. */
async function keepCompiled(folder, use) {
  const { load, scripts } = loaderOf(folder, null);
  await use(load('romkiln.cjs'));
  const parts = [];
  const pieces = [];
  let from = 0;
  for (const [name, script] of scripts) {
    const piece = script.createCachedData();
    parts.push([name, from, from + piece.length]);
    pieces.push(piece);
    from += piece.length;
  }
  const line = Buffer.from(`${JSON.stringify({ maker, parts })}\n`, 'latin1');
  writeFileSync(join(folder, keptName), Buffer.concat([line, ...pieces]));
}

module.exports = { loadProgram, keepCompiled };
