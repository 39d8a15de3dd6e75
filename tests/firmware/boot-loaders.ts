// The two published boot loaders of ATmega328P boards, from where Debian's arduino-core-avr puts them: none is shipped here.
import { execFileSync } from 'node:child_process';
import { systemFile, systemTool } from '../support/system-tools.js';
import { inFolder } from './second-bench.js';

const folder = '/usr/share/arduino/hardware/arduino/avr/bootloaders';
const olderHex = `${folder}/atmega/ATmegaBOOT_168_atmega328.hex`;
const newerSource = `${folder}/optiboot/optiboot.c`;

/** Debian package arduino-core-avr, and gcc-avr to build the newer one. */
export const hasBootLoaders =
  systemFile(olderHex) && systemFile(newerSource) && systemTool('avr-gcc') && systemTool('avr-objcopy');

export interface BootLoaderFile {
  readonly name: string;
  readonly baud: number;
  readonly from: number;
  hex(): string;
}

let built: string | null = null;

/** The packaged .hex of the newer one is broken (532 bytes where 512 fit), so it is built anew from the packaged source. */
function newerHex(): string {
  if (built !== null) return built;
  const elf = inFolder('loader.elf');
  const make = (program: string, words: readonly string[]): void =>
    void execFileSync(program, words, { stdio: 'pipe' });
  make('avr-gcc', [
    ...['-Os', '-fno-split-wide-types', '-mrelax', '-fno-tree-scev-cprop', '-fno-move-loop-invariants'],
    ...['-mmcu=atmega328p', '-DF_CPU=16000000L', '-DLED_START_FLASHES=3', '-DBAUD_RATE=115200'],
    ...['-c', newerSource, '-o', inFolder('loader.o')],
  ]);
  make('avr-gcc', [
    ...['-mmcu=atmega328p', '-nostartfiles', '-Wl,--relax', '-Wl,--section-start=.text=0x7e00'],
    ...['-Wl,--section-start=.version=0x7ffe', inFolder('loader.o'), '-o', elf],
  ]);
  make('avr-objcopy', ['-j', '.text', '-O', 'ihex', elf, inFolder('loader.hex')]);
  built = inFolder('loader.hex');
  return built;
}

export const bootLoaders: readonly BootLoaderFile[] = [
  { name: 'the older boot loader', baud: 57600, from: 0x7800, hex: () => olderHex },
  { name: 'the newer boot loader', baud: 115200, from: 0x7e00, hex: newerHex },
];
