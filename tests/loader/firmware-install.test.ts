// The firmware into a board through a boot loader, command by command (Atmel AVR061, STK500 communication protocol).
import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/ground/random.js';
import { findBootLoader } from '../../src/loader/boot-loader.js';
import { installPages, pagesHeld, pagesOfFirmware, requirePart } from '../../src/loader/firmware-install.js';
import { type LoaderScript, scriptedLoader } from './scripted-loader.js';

const program = seededRandom(5).bytes(1000);
const pages = pagesOfFirmware(program, () => true);
const ignored = (): void => {};

async function found(script: LoaderScript) {
  const board = scriptedLoader(script);
  const loader = await findBootLoader(board.open, 'port');
  if (loader === null) throw new Error('no loader was found');
  return { board, loader };
}

describe('looking for a boot loader', () => {
  it('when it speaks at 57600 baud then it is found there, and the port of the other rate is closed', async () => {
    const { board, loader } = await found({ baud: 57600 });
    expect(loader.baud).toBe(57600);
    expect(board.opened).toEqual([
      { baud: 115200, isOpen: false },
      { baud: 57600, isOpen: true },
    ]);
  });

  it('when nobody answers then none is found, and no port stays open', async () => {
    const board = scriptedLoader({ baud: 19200 });
    expect(await findBootLoader(board.open, 'port')).toBeNull();
    expect(board.opened.map((port) => port.isOpen)).toEqual([false, false]);
  });
});

describe('installing', () => {
  it('when all goes well then the flash holds the program, and what it leaves open of its last page reads FF', async () => {
    const { board, loader } = await found({ baud: 115200 });
    await requirePart(loader);
    await installPages(loader, pages, ignored);
    expect(board.flash.subarray(0, 1000)).toEqual(program);
    expect(board.flash.subarray(1000).every((byte) => byte === 0xff)).toBe(true);
    expect(await pagesHeld(loader, pages, ignored)).toBe(8);
    board.flash[300]! ^= 1;
    expect(await pagesHeld(loader, pages, ignored)).toBe(7);
  });

  it('when it goes on then the first page is a jump to itself until all others are right', async () => {
    const { board, loader } = await found({ baud: 115200 });
    await installPages(loader, pages, ignored);
    // AVR instruction set: RJMP -1 is CFFF, low byte first.
    expect(board.programmed[0]).toEqual([0, 0xff, 0xcf]);
    expect(board.programmed.slice(1).map(([address]) => address)).toEqual([128, 256, 384, 512, 640, 768, 896, 0]);
    expect(board.programmed.at(-1)).toEqual([0, program[0], program[1]]);
  });

  it('when the loader falls silent then the step is named, and install again comes through', async () => {
    // The search takes one command, a page four.
    for (let answersMost = 1; answersMost < 33; answersMost++) {
      const { board, loader } = await found({ baud: 115200, answersMost });
      await expect(installPages(loader, pages, ignored)).rejects.toMatchObject({
        code: 'loader.lost',
        message: expect.stringContaining(`page ${Math.floor((answersMost - 1) / 4)} of 8`),
      });
      const isWhole = board.flash.subarray(0, 1000).every((byte, i) => byte === program[i]);
      const standsStill = board.flash[0] === 0xff;
      expect(isWhole || standsStill, `after ${answersMost} answers`).toBe(true);
    }
  });

  it('when a cell does not take its byte then it is named, and the program does not begin', async () => {
    const { board, loader } = await found({ baud: 115200, worn: 0x190 });
    await expect(installPages(loader, pages, ignored)).rejects.toMatchObject({
      code: 'loader.page-differs',
      facts: { from: '0x0190', actual: 'FF' },
    });
    expect([board.flash[0], board.flash[1]]).toEqual([0xff, 0xcf]);
  });

  it('when the microcontroller is another one then nothing is written', async () => {
    // An ATmega168 (its data sheet, Signature Bytes).
    const { board, loader } = await found({ baud: 115200, signature: [0x1e, 0x94, 0x06] });
    await expect(requirePart(loader)).rejects.toMatchObject({
      code: 'loader.other-part',
      facts: { wanted: '1E 95 0F', actual: '1E 94 06' },
    });
    expect(board.programmed).toEqual([]);
  });

  it('when the firmware file is none that fits then it says why', () => {
    expect(() => pagesOfFirmware(new Uint8Array(0), () => true)).toThrow('does not begin at address 0');
    expect(() => pagesOfFirmware(program, (address) => address > 0)).toThrow('does not begin at address 0');
    expect(() => pagesOfFirmware(new Uint8Array(0x7801), () => true)).toThrow('where the boot loader is');
  });
});
