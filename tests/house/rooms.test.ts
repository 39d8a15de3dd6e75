// Holds every import in src to the table of rooms in DEVELOPERS.md.
import { readFileSync } from 'node:fs';
import { dirname, join, relative } from 'node:path';
import { describe, expect, it } from 'vitest';
import { importsOf, sourceFiles } from './sources.js';

interface Room {
  readonly name: string;
  readonly rooms: readonly string[] | 'all';
  readonly packages: readonly string[];
  /** Rooms of which only types may be imported. */
  readonly typesOnly: readonly string[];
}

const words = (cell: string): string[] =>
  cell
    .split(',')
    .map((w) => w.trim())
    .filter(Boolean);

function readRooms(text: string): Map<string, Room> {
  const rooms = new Map<string, Room>();
  const lines = text.slice(text.indexOf('| room |')).split('\n').slice(2);
  for (const line of lines) {
    if (!line.startsWith('|')) break;
    const [name = '', , may = '', packages = ''] = line
      .split('|')
      .slice(1, -1)
      .map((c) => c.trim());
    const [list = '', types = ''] = may.split(';');
    rooms.set(name, {
      name,
      rooms: list === 'all' ? 'all' : words(list),
      packages: words(packages),
      typesOnly: words(types.replace(/^\s*of/, '').replace(/types only\s*$/, '')),
    });
  }
  return rooms;
}

const rooms = readRooms(readFileSync('DEVELOPERS.md', 'utf8'));
const roomOf = (file: string): string => {
  const parts = relative('src', file).split('/');
  return parts.length === 1 ? (parts[0] ?? '') : (parts[0] ?? '');
};
const packageOf = (specifier: string): string =>
  specifier
    .split('/')
    .slice(0, specifier.startsWith('@') ? 2 : 1)
    .join('/');

function complaint(file: string, specifier: string, typeOnly: boolean): string | null {
  const room = rooms.get(roomOf(file));
  if (!room) return `${file}: no room of that name in DEVELOPERS.md`;
  if (specifier.startsWith('node:')) return null;
  if (!specifier.startsWith('.')) {
    const name = packageOf(specifier);
    const all = room.rooms === 'all' && room.name === 'index.ts';
    const allowed = room.packages.some((p) => p === name || (p.endsWith('/*') && name.startsWith(p.slice(0, -1))));
    return allowed || all ? null : `${file}: the room ${room.name} may not use the package ${name}`;
  }
  const target = roomOf(join(dirname(file), specifier));
  if (target === room.name || room.rooms === 'all') return null;
  if (!room.rooms.includes(target)) return `${file}: the room ${room.name} may not import from ${target}`;
  if (room.typesOnly.includes(target) && !typeOnly) return `${file}: only types of ${target} may be imported here`;
  return null;
}

describe('the rooms of the house', () => {
  it('when the table is read then it names every folder of src', () => {
    const folders = new Set(sourceFiles('src').map(roomOf));
    expect([...folders].filter((f) => !rooms.has(f))).toEqual([]);
    expect(rooms.size).toBeGreaterThan(10);
  });

  it('when a room may import then only rooms above it in the table', () => {
    const order = [...rooms.keys()];
    for (const room of rooms.values()) {
      if (room.rooms === 'all') continue;
      for (const other of room.rooms)
        expect(order.indexOf(other), `${room.name} <- ${other}`).toBeLessThan(order.indexOf(room.name));
    }
  });

  it('when a file of src imports then its room allows it', () => {
    const complaints = sourceFiles('src').flatMap((file) =>
      importsOf(readFileSync(file, 'utf8')).flatMap(
        ({ specifier, typeOnly }) => complaint(file, specifier, typeOnly) ?? [],
      ),
    );
    expect(complaints).toEqual([]);
  });

  it('when the fence is broken then it is noticed', () => {
    expect(complaint('src/image/x.ts', '../writer/writer.js', false)).toContain('may not import from writer');
    expect(complaint('src/image/x.ts', 'serialport', false)).toContain('may not use the package serialport');
    expect(complaint('src/report/x.ts', '../writer/writer.js', false)).toContain('only types');
    expect(complaint('src/report/x.ts', '../writer/writer.js', true)).toBeNull();
  });
});
