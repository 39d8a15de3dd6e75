// A refusal of the writer, as an error in the tool's words.
import { ToolError } from '../ground/errors.js';
import { numberOfField } from '../protocol/field-kind.js';
import type { Answer } from '../protocol/message.js';
import { refusalNumber, refusalRow } from '../protocol/refusals.js';
import { type Conversation, Restarted } from './conversation.js';

type No = Answer & { word: 'no' };

/** What a refusal means for the one who asked. `address` is what the request named. */
export function refusalFault(conversation: Conversation, request: string, answer: No, address = 0): Error {
  switch (answer.refusal) {
    case refusalNumber.noChip:
      return new Restarted();
    case refusalNumber.unknownWord:
      return new ToolError('writer.too-old', { request, build: conversation.writer!.build });
    case refusalNumber.notDriven:
      return new ToolError('writer.not-driven', { address: conversation.addressText(address) });
    case refusalNumber.neverReady:
      return new ToolError('writer.never-ready', {
        address: conversation.addressText(numberOfField(answer.fields[0] ?? '') ?? address),
      });
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
