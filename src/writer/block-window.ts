// Which block is sent next, and which must be sent again: the window of firmware-protocol.md section 3, without time and lines.

interface Outstanding {
  /** Ordinal numbers of its first and its latest sending. */
  readonly first: number;
  latest: number;
  sends: number;
}

/** Fewer outstanding than this would let the line and the chip wait for each other. */
const roomLeast = 2;
/** Answers without a refused line after which the window opens by one again. */
const answersToGrow = 32;

/**
 * Keeps up to `size` of `count` blocks outstanding (sent, not answered). The writer answers in the order in which it
 * received, so an answer to a later block shows that an earlier one was lost; a deadline shows the rest.
 */
export class BlockWindow {
  readonly #outstanding = new Map<number, Outstanding>();
  /** Blocks that were sent before and are to be sent again, in this order. */
  readonly #again: number[] = [];
  #next = 0;
  #ordinal = 0;
  #answered = 0;
  #stopped = false;
  /** How many may be outstanding now. A writer that cannot keep up loses characters; given less at once, it can. */
  #room: number;
  /** Answers since the last refused line; enough of them at the beginning. */
  #sinceRefusal: number;

  constructor(
    readonly count: number,
    readonly size: number,
  ) {
    this.#room = size;
    this.#sinceRefusal = size;
  }

  /** The block to send now, counted as sent; null while there is nothing to send. */
  take(): number | null {
    const index = this.#again.shift() ?? this.#newBlock();
    if (index === null) return null;
    const ordinal = this.#ordinal++;
    const known = this.#outstanding.get(index);
    if (known) {
      known.latest = ordinal;
      known.sends++;
    } else this.#outstanding.set(index, { first: ordinal, latest: ordinal, sends: 1 });
    return index;
  }

  #newBlock(): number | null {
    const room = this.upcoming !== null && this.#outstanding.size < this.#room;
    return room ? this.#next++ : null;
  }

  /**
   * Block `index` is answered, whatever the outcome. Blocks whose every sending came before its first are lost and
   * will be sent again. Its later sendings tell nothing: the writer answers a repeat at once, from memory.
   */
  answered(index: number): void {
    const block = this.#outstanding.get(index);
    if (!block) return;
    this.#outstanding.delete(index);
    this.#answered++;
    if (++this.#sinceRefusal % answersToGrow === 0) this.#room = Math.min(this.size, this.#room + 1);
    remove(this.#again, index);
    for (const [other, { latest }] of this.#outstanding) if (latest < block.first) this.#sendAgain(other);
  }

  /** The writer had no room for this block: it goes again when the next answer shows that there is some. */
  notTaken(index: number): void {
    const block = this.#outstanding.get(index);
    // As if it had been sent before everything else.
    if (block) block.latest = -1;
  }

  /** An unreadable line was refused. Only where no further block would show which one, all are sent again, once. */
  lineRefused(): void {
    // One lost line is noise; the next one within a window of answers is a writer that cannot keep up.
    if (this.#sinceRefusal < this.size) this.#room = Math.max(Math.min(roomLeast, this.size), this.#room >> 1);
    this.#sinceRefusal = 0;
    if (this.upcoming !== null) return;
    for (const [index, { sends }] of this.#outstanding) if (sends === 1) this.#sendAgain(index);
  }

  /** Nothing was heard in time: everything outstanding is sent again, in the old order. */
  deadline(): void {
    for (const index of this.#outstanding.keys()) this.#sendAgain(index);
  }

  /** The writer restarted or was lost for a while: what is outstanding was forgotten there and begins anew. */
  restart(): void {
    // Also what was to go again already: the writer may restart before anything is sent.
    const forgotten = [...this.#outstanding.keys(), ...this.#again].sort((a, b) => a - b);
    this.#outstanding.clear();
    this.#again.length = 0;
    for (const index of forgotten) this.#sendAgain(index);
  }

  /** Sends nothing from now on. */
  stop(): void {
    this.#stopped = true;
    this.#again.length = 0;
  }

  /** Most sendings of one block that is not answered. */
  get mostSends(): number {
    return Math.max(0, ...[...this.#outstanding.values()].map((block) => block.sends));
  }

  get outstanding(): readonly number[] {
    return [...this.#outstanding.keys()];
  }

  /** The new block that is sent next when there is room; null where there is none. */
  get upcoming(): number | null {
    return !this.#stopped && this.#next < this.count ? this.#next : null;
  }

  get answeredCount(): number {
    return this.#answered;
  }

  /** Nothing is outstanding and nothing is left to send. */
  get finished(): boolean {
    return this.#outstanding.size === 0 && this.#again.length === 0 && (this.#stopped || this.#next === this.count);
  }

  #sendAgain(index: number): void {
    if (!this.#stopped && !this.#again.includes(index)) this.#again.push(index);
  }
}

const remove = (list: number[], item: number): void => {
  const place = list.indexOf(item);
  if (place >= 0) list.splice(place, 1);
};
