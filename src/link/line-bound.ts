// Keeps endless text away from the line parser, which holds on to everything until a line end comes.

const LF = 10;

/** Where the pieces go. `restart` tells the parser to forget the beginning of the line it holds. */
export interface BoundedLines {
  piece(bytes: Buffer): void;
  restart(): void;
  overlong(): void;
}

/**
 * Passes bytes on as long as no line (without its LF) is longer than `lineMax`. Of a longer one nothing more is passed
 * up to and with its LF; `restart` and `overlong` are called once, as soon as the bound is crossed.
 */
export function lineBound(lineMax: number, to: BoundedLines): (chunk: Buffer) => void {
  let held = 0;
  let dropping = false;
  return (chunk) => {
    for (let start = 0; start < chunk.length; ) {
      const lf = chunk.indexOf(LF, start);
      const end = lf < 0 ? chunk.length : lf + 1;
      held += (lf < 0 ? end : lf) - start;
      if (!dropping && held > lineMax) {
        dropping = true;
        to.restart();
        to.overlong();
      }
      if (!dropping) to.piece(chunk.subarray(start, end));
      if (lf >= 0) {
        held = 0;
        dropping = false;
      }
      start = end;
    }
  };
}
