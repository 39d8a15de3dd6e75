// romkiln ports: the serial ports of this machine.
import { printable } from '../ground/byte-text.js';
import { columns } from '../report/columns.js';
import { type Execute, flagOption } from './command.js';

export const execute: Execute = async ({ world, options }) => {
  const ports = await world.listPorts();
  if (flagOption(options, 'json')) world.stdout.write(`${JSON.stringify({ command: 'ports', ports })}\n`);
  else if (ports.length === 0)
    world.stdout.write('No serial port was found. --port emulated is always there: the emulated bench.\n');
  else
    world.stdout.write(
      columns(
        ['port', 'about'],
        ports.map((p) => [printable(p.path), printable(p.about)]),
      ),
    );
  return 0;
};
