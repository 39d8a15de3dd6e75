// One direction of the serial line: bytes take their time, meet their mishaps, and are garbled where the rates differ.
import type { Random } from '../../src/ground/random.js';
import type { WireMishap } from './mishap.js';
import type { VirtualClock } from './virtual-clock.js';

export interface WireEnds {
  /** The rate that the receiver listens at when the bytes arrive. */
  receiverBaud(): number;
  deliver(bytes: Uint8Array): void;
  unplug(): void;
  /** Time between the end of a line and its arrival, for example in a USB adapter. */
  delayMs(): number;
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
  let travelling: { readonly startMs: number; readonly cancel: () => void }[] = [];

  const arrive = (bytes: number[], sentBaud: number): void => {
    const garbled = sentBaud !== ends.receiverBaud();
    ends.deliver(garbled ? random.bytes(bytes.length) : Uint8Array.from(bytes));
  };

  return {
    send(bytes, baud) {
      const byteMs = (bitsPerByte * 1000) / baud;
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
        if (sentCount >= lostUntil) for (let i = 0; i < times; i++) piece.push(value);
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
