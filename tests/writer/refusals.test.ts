import { describe, expect, it } from 'vitest';
import type { Writer } from '../../src/writer/writer.js';
import { cellChoice, pageChoice } from './against-mock.js';
import { failure, greeted, withChip } from './on-scripted-link.js';

/** What the user is told when the writer answers a request with this refusal. */
async function told(refusal: string, ask: (writer: Writer) => Promise<unknown>, choice = pageChoice) {
  const { link, writer } = await withChip(choice);
  const asked = failure(ask(writer));
  await link.reply(`02 no ${refusal}`);
  return asked;
}

describe('what is told when the writer refuses', () => {
  it('when no chip drives the bus then the address is named, with as many digits as the chip has', async () => {
    const presence = (address: number) => (writer: Writer) => writer.presence(address);
    expect((await told('A FF', presence(0x40))).message).toBe('No chip drives the data lines (tried at 0x040).');
    const large = { ...pageChoice, cells: 0x8000 };
    expect((await told('A FF', presence(0x40), large)).message).toContain('0x0040');
  });

  it('when the chip does not end its cycle then the address is the one that the writer tells', async () => {
    const protect = (writer: Writer) => writer.protect();
    const error = await told('B 555', protect);
    expect(error).toMatchObject({ code: 'writer.never-ready', exit: 4 });
    expect(error.message).toContain('0x555');
    // A refusal without its field is no reason for a word that is no address.
    expect((await told('B', protect)).message).toContain('0x000');
    expect((await told('B', (writer) => writer.presence(0x123))).message).toContain('0x123');
  });

  it('when the writer is too old for a request then request and build are named', async () => {
    const { message } = await told('3', (writer) => writer.hold(0, 7, 'pulled'));
    expect(message).toContain('"hold"');
    expect(message).toContain('firmware-2.0.0');
  });

  it('when the chip has no codes then that is said of the chip', async () => {
    const error = await told('D', (writer) => writer.protect(), cellChoice);
    expect(error).toMatchObject({ code: 'writer.no-protection', exit: 4 });
    expect(error.message).toBe('The chosen part has no software data protection.');
  });

  it('when a refusal is none that this tool earns then it is given as the writer said it', async () => {
    expect((await told('4 2', (writer) => writer.presence(9))).message).toBe(
      'The writer refused "presence": bad-field (4 2).',
    );
    const unknown = await told('7F 12', (writer) => writer.presence(9));
    expect(unknown).toMatchObject({ code: 'writer.refused', exit: 4 });
    expect(unknown.message).toBe('The writer refused "presence": an unknown refusal (7F 12).');
  });

  it('when it speaks of a chip before one is chosen then the refusal is told all the same', async () => {
    const { link, writer } = await greeted();
    const asked = failure(writer.registers());
    await link.reply('01 no A FF');
    expect((await asked).message).toContain('tried at 0x000');
  });
});
