// Many settings said in few words: cells joined to boxes, a range of values for every input.

/** From and to of every input, both included. */
export type Box = readonly (readonly [number, number])[];

/** As many boxes as are worth looking for: a sentence names four. */
const mostBoxes = 8;

/**
 * The cells that `isHole` names, counted, and the first few of them joined to boxes. Cells are numbered as in a ValueGrid:
 * the first input counts slowest.
 */
export function holesOf(
  widths: readonly number[],
  isHole: (cell: number) => boolean,
): { boxes: Box[]; settings: number } {
  const size = 2 ** widths.reduce((a, b) => a + b, 0);
  const covered = new Uint8Array(size);
  const boxes: Box[] = [];
  let settings = 0;
  for (let cell = 0; cell < size; cell++) {
    if (!isHole(cell)) continue;
    settings++;
    if (covered[cell] || boxes.length >= mostBoxes) continue;
    const box = grow(cell, widths, isHole);
    everyCell(box, widths, (inside) => {
      covered[inside] = 1;
      return true;
    });
    boxes.push(box);
  }
  return { boxes, settings };
}

/** Grows a box from one cell upwards, input by input from the last, as long as all that is inside is a hole. */
function grow(cell: number, widths: readonly number[], isHole: (cell: number) => boolean): Box {
  const box: [number, number][] = [];
  let rest = cell;
  for (let k = widths.length - 1; k >= 0; k--) {
    const value = rest & (2 ** widths[k]! - 1);
    box.unshift([value, value]);
    rest >>= widths[k]!;
  }
  for (let k = widths.length - 1; k >= 0; k--) {
    while (box[k]![1] < 2 ** widths[k]! - 1) {
      const next = box[k]![1] + 1;
      const slice = box.map((range, i): [number, number] => (i === k ? [next, next] : range));
      if (!everyCell(slice, widths, isHole)) break;
      box[k] = [box[k]![0], next];
    }
  }
  return box;
}

/** True where `holds` of every cell in a box; stops at the first of which it does not. */
function everyCell(box: Box, widths: readonly number[], holds: (cell: number) => boolean, k = 0, prefix = 0): boolean {
  if (k === box.length) return holds(prefix);
  const [from, to] = box[k]!;
  for (let value = from; value <= to; value++) {
    if (!everyCell(box, widths, holds, k + 1, (prefix << widths[k]!) | value)) return false;
  }
  return true;
}
