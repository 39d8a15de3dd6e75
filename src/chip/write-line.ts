// What one write line carries: the burn cuts an image by it, and the suspects retrace a burn by it.

/** Cells of one write line where the chip has no page mode (the writer's announced limit is at least this). */
const cellsOfBlock = 64;

/** Cells of one block of a chip with pages of so many bytes; 1 where it is written cell by cell. */
export const blockOfPage = (pageBytes: number): number => (pageBytes === 1 ? cellsOfBlock : pageBytes);
