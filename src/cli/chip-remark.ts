// A remark where the chip that a plan is made for, the one that a command works with and the seated one are not the same.
import type { Part } from '../chip/part.js';
import { printable } from '../ground/byte-text.js';
import { addressText, countOf } from '../report/quantity.js';
import { seatedPart } from '../task/port-choice.js';
import type { Target } from '../task/session.js';
import { plannedPart, type Source } from './source.js';
import type { World } from './world.js';

const said = ({ name, cells }: Part): string => `${name} (${countOf(cells, 'cell')})`;

/** Family and member are the same chip to a person who did not look at the maker's name. */
const related = (one: Part, other: Part): boolean =>
  one.name === other.name || one.members?.includes(other.name) || other.members?.includes(one.name) || false;

const upper = (lower: Part, larger: Part): string => {
  const first = `A${lower.addressLines}`;
  const last = `A${larger.addressLines - 1}`;
  const lines = first === last ? first : `${first} to ${last}`;
  return `the cells from ${addressText(lower.cells, larger.cells)} up are left out, and the circuit has to hold ${lines} low`;
};

/** The part that a plan names against the part that is used; null where there is nothing to say. */
export function planChipRemark(source: Source, part: Part): string | null {
  const planned = plannedPart(source);
  if (planned === null || related(planned, part)) return null;
  const meaning =
    part.cells > planned.cells
      ? upper(planned, part)
      : part.cells < planned.cells
        ? `only what stands below ${addressText(part.cells, planned.cells)} fits`
        : 'both have the same cells';
  return `${printable(source.name)} is made for ${said(planned)}, and the chip here is taken as ${said(part)}: ${meaning}.`;
}

/** The part that is used against the one seated on an emulated bench; a real writer cannot see its chip. */
export async function seatedChipRemark(world: World, { part, port }: Target): Promise<string | null> {
  const seated = await seatedPart(world, port);
  if (seated === null || seated.cells === part.cells) return null;
  const meaning =
    seated.cells > part.cells
      ? upper(part, seated)
      : `it answers addresses from ${addressText(seated.cells, part.cells)} up with its lower cells`;
  return `The bench holds ${said(seated)}, and it is taken as ${said(part)}: ${meaning}.`;
}

/** A plan against a longer image that it is compared with. */
export function comparedSizeRemark(wanted: Source, actual: Source): string | null {
  const [cells, others] = [wanted.image.bytes.length, actual.image.bytes.length];
  const planned = plannedPart(wanted);
  if (planned === null || others <= cells) return null;
  const more = addressText(cells, others);
  return `${printable(wanted.name)} is made for ${said(planned)}, and ${printable(actual.name)} has ${countOf(others, 'cell')}: those from ${more} up are not compared.`;
}
