// Errors of the room loader: code, exit, sentence, note.
import { exit } from '../exit.js';
import { row } from './row.js';

export const loaderErrors = {
  'loader.none': row<{ path: string; rates: readonly number[] }>(
    exit.noConversation,
    (f) => `No boot loader answers on ${f.path}; tried ${f.rates.join(' and ')} baud.`,
    () =>
      'Is it the right port (`romkiln ports`)? Else press reset as the command begins; a board without a boot loader takes the firmware through an in-system programmer (firmware/README.md).',
  ),
  'loader.no-writer': row<{ path: string; baud: number }>(
    exit.noConversation,
    (f) => `On ${f.path} a boot loader answers (${f.baud} baud), and no firmware.`,
    (f) => `\`romkiln install --port ${f.path}\` puts the firmware into the board.`,
  ),
  'loader.other-part': row<{ path: string; wanted: string; actual: string }>(
    exit.refused,
    (f) => `The microcontroller on ${f.path} calls itself ${f.actual}; an ATmega328P is ${f.wanted}.`,
    () => 'The firmware is for the ATmega328P at 16 MHz; nothing was written.',
  ),
  'loader.bad-firmware': row<{ why: string }>(
    exit.usage,
    (f) => `The firmware file of this tool cannot be put into a board: ${f.why}.`,
    () => 'Reinstall romkiln, or build the file anew with `make -C firmware update`. Nothing was written.',
  ),
  'loader.lost': row<{ path: string; step: string }>(
    exit.noConversation,
    (f) => `The boot loader on ${f.path} stopped answering (${f.step}).`,
    () => 'Run `romkiln install` again. Until it has come through, the board drives none of its pins.',
  ),
  'loader.page-differs': row<{ path: string; from: string; wanted: string; actual: string }>(
    exit.refused,
    (f) => `The flash at ${f.from} reads back as ${f.actual}, not as ${f.wanted}.`,
    () => 'Run `romkiln install` again; if the same page fails again, the flash of the microcontroller is worn.',
  ),
};
