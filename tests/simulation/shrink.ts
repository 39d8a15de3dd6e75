// Delta debugging: the shortest list of what goes wrong that still breaks a promise.

/**
 * Cuts `items` down as far as `fails` stays true: halves, quarters and so on are left out, until no single one can be
 * (Zeller and Hildebrandt, "Simplifying and Isolating Failure-Inducing Input", 2002; from memory).
 */
export async function shrink<Item>(
  items: readonly Item[],
  fails: (some: readonly Item[]) => Promise<boolean>,
): Promise<readonly Item[]> {
  let rest = items;
  let parts = 2;
  while (rest.length > 0) {
    const size = Math.max(1, Math.ceil(rest.length / parts));
    let cut = false;
    for (let from = 0; from < rest.length; from += size) {
      const fewer = [...rest.slice(0, from), ...rest.slice(from + size)];
      if (!(await fails(fewer))) continue;
      rest = fewer;
      parts = Math.max(2, parts - 1);
      cut = true;
      break;
    }
    if (cut) continue;
    if (size === 1) break;
    parts = Math.min(rest.length, parts * 2);
  }
  return rest;
}
