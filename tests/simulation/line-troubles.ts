// Troubles that strike whole lines between the host and an emulated bench: noise, lateness, a line heard twice, a writer that
// resets or hangs on hearing one, and a writer of an older protocol.
import type { EmulatedBench } from '../../src/emulator/emulated-bench.js';
import type { Link, LinkListener } from '../../src/link/link.js';
import { withCheck } from '../../src/protocol/line.js';
import type { Mishap, Of } from './trouble.js';

const latin1 = (bytes: readonly number[]): string => String.fromCharCode(...bytes);

export class LineTroubles {
  /** Characters that went by each way, and lines to the writer, since the bench was made. */
  #toWriter = 0;
  #toHost = 0;
  #lines = 0;
  #lateUntil = 0;

  constructor(
    private mishaps: readonly Mishap[],
    private writer: readonly Of<'writer'>[],
    private readonly bench: EmulatedBench,
  ) {}

  lift(): void {
    this.mishaps = [];
    this.writer = [];
  }

  around(link: Link): Link {
    return {
      path: link.path,
      clock: link.clock,
      send: (text) => link.send(this.#sent(text)),
      listen: (listener) => link.listen(this.#heard(link, listener)),
      setRate: (baud) => link.setRate(baud),
      close: () => link.close(),
    };
  }

  /** What becomes of text on its way to the writer. */
  #sent(text: string): string {
    let out = '';
    let line = '';
    for (const character of text) {
      for (const m of this.mishaps)
        if (m.kind === 'noise' && m.way === 'to-writer' && m.at === this.#toWriter) line += latin1(m.bytes);
      this.#toWriter++;
      line += character;
      if (character !== '\n') continue;
      out += line.length > 1 ? this.#lineSent(line) : line;
      line = '';
    }
    return out + line;
  }

  /** Strikes on a whole line; returns what is heard in its place. */
  #lineSent(line: string): string {
    this.#lines++;
    const struck = this.mishaps.filter((m) => 'line' in m && m.line === this.#lines);
    for (const { kind } of struck) {
      const at = { byteToWriter: this.#toWriter };
      if (kind === 'resets') this.bench.arrange([{ kind: 'writer-reset', at }]);
      if (kind === 'hangs') this.bench.arrange([{ kind: 'writer-hang', at }]);
    }
    const [seq, word] = line.split(' ');
    const isLacked = this.writer.some((t) => t.kind === 'lacks' && t.word === word);
    // In place of a word that this writer does not know it gets one that no writer knows.
    const heard = isLacked ? withCheck(`${seq} nothing`) : line;
    return struck.some((m) => m.kind === 'repeated') ? heard + heard : heard;
  }

  /** What becomes of lines on their way to the host. */
  #heard(link: Link, listener: LinkListener): LinkListener {
    const later = (action: () => void): void => {
      const now = link.clock.now();
      if (this.#lateUntil <= now) action();
      else link.clock.after(this.#lateUntil - now, action);
    };
    return {
      line: (text) => {
        const from = this.#toHost;
        this.#toHost += text.length + 1;
        let heard = this.#asOlder(text);
        for (const m of this.mishaps) {
          if (!('way' in m) || m.way !== 'to-host' || m.at < from || m.at >= this.#toHost) continue;
          if (m.kind === 'late') this.#lateUntil = link.clock.now() + m.ms;
          if (m.kind === 'noise') heard = `${heard.slice(0, m.at - from)}${latin1(m.bytes)}${heard.slice(m.at - from)}`;
        }
        for (const line of heard.split('\n')) later(() => listener.line(line));
      },
      overlong: () => later(() => listener.overlong()),
      closed: (reason) => listener.closed(reason),
    };
  }

  #asOlder(text: string): string {
    if (!this.writer.some((t) => t.kind === 'older') || !/^.. writer /.test(text)) return text;
    return withCheck(text.slice(0, -5).replace('version=2', 'version=0')).slice(0, -1);
  }
}
