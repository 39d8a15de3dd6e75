// The cells of a scratch chip that rules write: kept before, put back after.
import type { RuleContext } from './rule.js';

export interface ScratchCells {
  /** Writes what differs; true when all cells hold their old bytes again. */
  putBack(): Promise<boolean>;
}

/** Reads the cells and makes sure that the chip takes a block at all. Throws conform.broken where it does not. */
export async function keepCells(context: RuleContext): Promise<ScratchCells> {
  await context.choose();
  const kept = await context.read(0, context.areaCells);
  await context.write(0, Uint8Array.of(kept[0]! ^ 0xff));
  await context.write(0, kept.slice(0, 1));

  const putBack = async (): Promise<boolean> => {
    // A rule that broke may have left the chip protected.
    if (context.part?.protection.value) {
      await context.choose();
      await context.talk.ask('unprotect', [], context.workMs(1));
    }
    await context.choose();
    const now = await context.read(0, kept.length);
    const { page } = context.choice;
    const size = page === 1 ? Math.min(context.writer.cells, 0x20) : page;
    for (let start = 0; start < kept.length; start += size) {
      const wanted = kept.slice(start, start + size);
      if (wanted.some((byte, i) => byte !== now[start + i])) await context.write(start, wanted);
    }
    const after = await context.read(0, kept.length);
    return after.every((byte, i) => byte === kept[i]);
  };
  return { putBack };
}
