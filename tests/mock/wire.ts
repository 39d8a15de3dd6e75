// One direction of the serial line: bytes take their time, meet their mishaps, and are garbled where the rates differ.
import type { Random } from '../../src/ground/random.js';
import type { WireMishap } from './mishap.js';
import type { VirtualClock } from './virtual-clock.js';

/** An adapter that is slower than the line, or a line that is noisy at high rates. */
export interface Adapter {
  /** What it passes on in the long run; what comes faster waits in its buffer. */
  readonly bytesPerMs?: number;
  /** What does not fit in any more is lost. A host that sends is made to wait instead. */
  readonly bufferBytes?: number;
  /** From this rate on a character of so many lines of a hundred is damaged. */
  readonly damage?: { readonly fromBaud: number; readonly percent: number };
}

export interface WireEnds {
  /** The rate that the receiver listens at when the bytes arrive. */
  receiverBaud(): number;
  deliver(bytes: Uint8Array): void;
  unplug(): void;
  /** Time between the end of a line and its arrival, for example in a USB adapter. */
  delayMs(): number;
  /** What the adapter on the way bears; null where it bears everything. */
  readonly adapter: Adapter | null;
}

export interface Wire {
  send(bytes: Uint8Array, baud: number): void;
  /** Forgets what has not begun to travel. */
  dropUnsent(): void;
  /** Bytes sent so far; the next one has this index. */
  sentCount(): number;
}

/** Start bit, eight data bits, stop bit. */
const bitsPerByte = 10;
const LF = 10;

export function wire(clock: VirtualClock, mishaps: () => readonly WireMishap[], random: Random, ends: WireEnds): Wire {
  let sentCount = 0;
  let freeAtMs = 0;
  let arrivedByMs = 0;
  let lostUntil = 0;
  /** Bytes in the adapter's buffer at `levelAtMs`. */
  let level = 0;
  let levelAtMs = 0;
  let travelling: { readonly startMs: number; readonly cancel: () => void }[] = [];

  const arrive = (bytes: number[], sentBaud: number): void => {
    const garbled = sentBaud !== ends.receiverBaud();
    ends.deliver(garbled ? random.bytes(bytes.length) : Uint8Array.from(bytes));
  };

  return {
    send(bytes, baud) {
      const { bytesPerMs = Infinity, bufferBytes = Infinity, damage } = ends.adapter ?? {};
      // To the writer the adapter takes from the host no faster than it can; from the writer it cannot help what comes.
      const lineMs = (bitsPerByte * 1000) / baud;
      const byteMs = bufferBytes === Infinity ? Math.max(lineMs, 1 / bytesPerMs) : lineMs;
      const isDamaged = damage !== undefined && baud >= damage.fromBaud && random.next() * 100 < damage.percent;
      const damaged = isDamaged ? sentCount + random.below(bytes.length) : -1;
      /** True when the buffer is full and this byte is lost. */
      const overflows = (atMs: number): boolean => {
        level = Math.max(0, level - Math.max(0, atMs - levelAtMs) * bytesPerMs);
        levelAtMs = Math.max(levelAtMs, atMs);
        if (level + 1 > bufferBytes) return true;
        level++;
        return false;
      };
      let atMs = Math.max(clock.now(), freeAtMs);
      let startMs = atMs;
      let piece: number[] = [];
      const end = sentCount + bytes.length;
      const expected = mishaps().filter((mishap) => mishap.at >= sentCount && mishap.at < end);
      const flush = (then?: () => void): void => {
        const content = piece;
        piece = [];
        // What was sent first arrives first, whatever the delays are.
        arrivedByMs = Math.max(arrivedByMs, atMs + ends.delayMs());
        const leaving = {
          startMs,
          cancel: clock.within(arrivedByMs - clock.now(), () => {
            travelling = travelling.filter((other) => other !== leaving);
            if (content.length > 0) arrive(content, baud);
            then?.();
          }),
        };
        travelling.push(leaving);
        startMs = atMs;
      };
      for (const byte of bytes) {
        const here = expected.filter((mishap) => mishap.at === sentCount);
        atMs += byteMs;
        let value = byte;
        let times = 1;
        for (const mishap of here) {
          if (mishap.kind === 'flipped') value ^= 1 << mishap.bit;
          if (mishap.kind === 'doubled') times = 2;
          if (mishap.kind === 'noise') piece.push(...mishap.bytes);
          if (mishap.kind === 'lost') lostUntil = sentCount + mishap.count;
          if (mishap.kind === 'late') {
            flush();
            atMs += mishap.ms;
          }
        }
        if (sentCount === damaged) value ^= 0x04;
        const isLost = bufferBytes !== Infinity && overflows(atMs);
        if (sentCount >= lostUntil && !isLost) for (let i = 0; i < times; i++) piece.push(value);
        sentCount++;
        if (here.some((mishap) => mishap.kind === 'unplugged')) flush(ends.unplug);
        else if (value === LF) flush();
      }
      if (piece.length > 0) flush();
      freeAtMs = atMs;
    },
    sentCount: () => sentCount,
    dropUnsent() {
      const nowMs = clock.now();
      for (const bytes of travelling) if (bytes.startMs > nowMs) bytes.cancel();
      travelling = travelling.filter((bytes) => bytes.startMs <= nowMs);
      freeAtMs = Math.min(freeAtMs, nowMs);
    },
  };
}
