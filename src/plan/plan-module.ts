// The type of a plan that is a TypeScript or JavaScript module: what its default export holds.
import type { InferInput } from 'valibot';
import type { BanksInput } from './bank-contents.js';
import type { addressSchema } from './control/address-schema.js';
import type { stepSchema } from './control/step-schema.js';
import type { DisplayInput } from './decimal-display.js';
import type { FunctionInput } from './function-table.js';
import type { PiecesInput } from './piece-schema.js';
import type { fieldSchema, romSchema } from './plan-schema.js';
import type { TruthTableInput } from './truth-table.js';

/** Of one kind, or a list of such side by side. */
export type PlanContents = OneContents | readonly OneContents[];

type OneContents =
  | DisplayInput
  | TruthTableInput
  | FunctionInput
  | BanksInput
  | PiecesInput
  | InferInput<typeof stepSchema>
  | InferInput<typeof addressSchema>;

/** The same keys as in YAML; `export default { ... } satisfies PlanModule` lets the compiler check them. */
export interface PlanModule {
  readonly plan: string;
  readonly about?: string;
  readonly fields?: Readonly<Record<string, InferInput<typeof fieldSchema>>>;
  readonly contents?: PlanContents;
  readonly fill?: 'leave' | number;
  readonly roms: Readonly<Record<string, Omit<InferInput<typeof romSchema>, 'contents'> & { contents?: PlanContents }>>;
}
