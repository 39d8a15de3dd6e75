// One byte as it is loaded into a chip: what a write cycle, and a protection code, is made of.

export interface ByteLoad {
  readonly address: number;
  readonly byte: number;
}
