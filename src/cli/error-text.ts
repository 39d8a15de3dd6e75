// Errors as a person and a program read them; the one place that turns a thrown thing into an exit number.
import { printable } from '../ground/byte-text.js';
import { ToolError, ToolErrors } from '../ground/errors.js';
import { exit, worstExit } from '../ground/exit.js';
import type { World } from './world.js';

interface SaidError {
  readonly code: string;
  readonly message: string;
  readonly note: string;
  readonly exit: number;
}

const said = (error: unknown): readonly SaidError[] => {
  if (error instanceof ToolErrors) return error.errors.flatMap(said);
  if (error instanceof ToolError)
    return [{ code: error.code, message: error.message, note: error.note, exit: error.exit }];
  const reason = error instanceof Error ? error.message : String(error);
  return [
    {
      code: 'romkiln.fault',
      message: `This is a fault of romkiln itself: ${reason}.`,
      note: 'Please report it with the command you gave; set ROMKILN_TRACE=1 to see where it happened.',
      exit: exit.ourFault,
    },
  ];
};

/** Says what went wrong: sentences on stderr, and with --json one object on stdout. Returns the exit number. */
export function sayErrors(
  error: unknown,
  world: World,
  how: { readonly json: boolean; readonly command: string },
): number {
  const errors = said(error);
  for (const e of errors) {
    const lines = (text: string): string => text.split('\n').map(printable).join('\n  ');
    world.stderr.write(`romkiln: ${lines(e.message)}\n  ${lines(e.note)}  [${e.code}]\n`);
  }
  if (world.environment.ROMKILN_TRACE && error instanceof Error) world.stderr.write(`${error.stack ?? ''}\n`);
  if (how.json) world.stdout.write(`${JSON.stringify({ command: how.command, errors })}\n`);
  return worstExit(errors.map((e) => e.exit));
}
