// A refusal of the writer, as an error in the tool's words.
import { hex } from '../ground/byte-text.js';
import { ToolError } from '../ground/errors.js';
import type { Answer } from '../protocol/message.js';
import { refusalNumber, refusalRow } from '../protocol/refusals.js';
import { type Conversation, Restarted } from './conversation.js';

type No = Answer & { word: 'no' };

/** An address as people read it. */
export const addressText = (address: number): string => `0x${hex(address, 4)}`;

/** What a refusal means for the one who asked. `chip` names the part where it is known. */
export function refusalFault(conversation: Conversation, request: string, answer: No, address = 0): Error {
  const fieldAddress = Number.parseInt(answer.fields[0] ?? '', 16);
  switch (answer.refusal) {
    case refusalNumber.noChip:
      return new Restarted();
    case refusalNumber.unknownWord:
      return new ToolError('writer.too-old', { request, build: conversation.writer?.build ?? '' });
    case refusalNumber.notDriven:
      return new ToolError('writer.not-driven', { address: addressText(address) });
    case refusalNumber.neverReady:
      return new ToolError('writer.never-ready', { address: addressText(fieldAddress || address) });
    case refusalNumber.noProtection:
      return new ToolError('writer.no-protection', { chip: 'The chosen part' });
    case refusalNumber.unsafeHold:
      return new ToolError('writer.unsafe-hold', {});
    default:
      return new ToolError('writer.refused', {
        request,
        refusal: answer.refusal,
        name: refusalRow(answer.refusal)?.name ?? 'an unknown refusal',
        fields: answer.fields,
      });
  }
}
