// Errors of the room link: code, exit, sentence, note.
import { exit } from '../exit.js';
import { row } from './row.js';

export const linkErrors = {
  'link.missing': row<{ path: string }>(
    exit.noConversation,
    (f) => `There is no port ${f.path}.`,
    () => 'Plug the writer in and run `romkiln ports` to see which ports there are.',
  ),
  'link.denied': row<{ path: string; owner: string; group: string; groupMayUse: boolean }>(
    exit.noConversation,
    (f) => `You may not open ${f.path}: it belongs to ${f.owner}:${f.group}.`,
    (f) =>
      f.groupMayUse
        ? `Join the group ${f.group} with \`sudo usermod -aG ${f.group} "$USER"\`, then log out and in again.`
        : `Its group may not use it either: ask who runs this machine for a rule that gives a group access to ${f.path}.`,
  ),
  'link.busy': row<{ path: string; holder: string | null }>(
    exit.noConversation,
    (f) => `${f.path} is in use by ${f.holder ?? 'another program'}.`,
    () => 'End that program (a serial monitor, another romkiln), then try again.',
  ),
  'link.no-lock': row<{ path: string; folder: string; reason: string }>(
    exit.usage,
    (f) => `${f.path} cannot be locked against a second romkiln: ${f.folder} cannot be written (${f.reason}).`,
    () => 'Set TMPDIR (TEMP on Windows) to a folder that you may write.',
  ),
  'link.gone': row<{ path: string }>(
    exit.noConversation,
    (f) => `The port ${f.path} is gone: unplugged, or closed from the other end.`,
    () => 'Plug the writer in again and repeat the command; what is already right in the chip is not written twice.',
  ),
  'link.not-a-port': row<{ path: string }>(
    exit.noConversation,
    (f) => `${f.path} is not a serial port.`,
    () => 'Name a port such as /dev/ttyUSB0, /dev/ttyACM0 or COM3; `romkiln ports` lists them.',
  ),
  'link.rate': row<{ path: string; baud: number }>(
    exit.noConversation,
    (f) => `The port ${f.path} cannot run at ${f.baud} baud.`,
    () => 'Ask for another rate with --rate, for example --rate 115200.',
  ),
  'link.failed': row<{ path: string; reason: string }>(
    exit.noConversation,
    (f) => `The port ${f.path} could not be opened: ${f.reason}.`,
    () => 'Unplug the writer, plug it in again and repeat the command.',
  ),
  'link.no-listing': row<{ reason: string }>(
    exit.noConversation,
    (f) => `The serial ports could not be listed: ${f.reason}.`,
    () => 'Name the port yourself with --port, for example --port COM3.',
  ),
};
