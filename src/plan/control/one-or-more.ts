// Names as a plan writes them where one or several may stand: `cord`, or `[cord, rail]`.

/** The names as a list; none where nothing is written. */
export const listOf = (names: string | readonly string[] | undefined): readonly string[] => [names ?? []].flat();
