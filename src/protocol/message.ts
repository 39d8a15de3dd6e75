// The messages of firmware-protocol.md as data: what a line says, without how it is spelled.

export type Request =
  | { readonly word: 'who' }
  | { readonly word: 'echo'; readonly bytes: Uint8Array }
  | { readonly word: 'rate'; readonly baud: number }
  | ({ readonly word: 'chip' } & ChipChoice)
  | { readonly word: 'registers' }
  | { readonly word: 'presence'; readonly address: number }
  | { readonly word: 'read'; readonly address: number; readonly count: number }
  | { readonly word: 'sum'; readonly address: number; readonly count: number; readonly page: number }
  | { readonly word: 'write'; readonly address: number; readonly bytes: Uint8Array }
  | { readonly word: 'protect' }
  | { readonly word: 'unprotect' }
  | { readonly word: 'hold'; readonly address: number; readonly control: number; readonly data: HeldData }
  | { readonly word: 'stop' };

/** What `hold` does to the data lines: drive a byte, release them, or release them with pull-ups. */
export type HeldData = number | 'released' | 'pulled';

/** The fields of `chip`: geometry and times from the host's row. */
export interface ChipChoice {
  readonly cells: number;
  /** 1: cell by cell. */
  readonly page: number;
  readonly cycleUs: number;
  readonly windowUs: number;
  readonly poll: 'limit' | 'data' | 'toggle';
  readonly protection: 'none' | 'codes' | 'prefix';
}

/** The `writer` line: who is there, and its limits. */
export interface WriterLine {
  readonly version: number;
  readonly nonce: number;
  readonly line: number;
  readonly store: number;
  readonly slots: number;
  readonly cells: number;
  readonly echo: number;
  readonly silenceMs: number;
  readonly rates: readonly number[];
  readonly build: string;
}

/** A line from the writer. `seq` 0: the greeting, or the refusal of an unreadable line. */
export type Answer =
  | ({ readonly word: 'writer'; readonly seq: number } & WriterLine)
  /** `fields` as they stand in the line; what they mean depends on the request (answerFields). */
  | { readonly word: 'ok'; readonly seq: number; readonly fields: readonly string[] }
  | { readonly word: 'data'; readonly seq: number; readonly address: number; readonly bytes: Uint8Array }
  | { readonly word: 'sums'; readonly seq: number; readonly address: number; readonly sums: readonly number[] }
  | { readonly word: 'no'; readonly seq: number; readonly refusal: number; readonly fields: readonly string[] };

/** What a received line turned out to be: a message, or bad with the refusal number it earns. */
export type Decoded<Message> =
  | { readonly good: true; readonly message: Message }
  /** `seq` is 0 where the number cannot be trusted. */
  | { readonly good: false; readonly seq: number; readonly refusal: number; readonly fields: readonly string[] };
