// Why a port could not be opened, in the tool's words: the binding tells it only as text.
import { access, constants, readFile, stat } from 'node:fs/promises';
import { ToolError } from '../ground/errors.js';

const nameOf = async (file: string, id: number): Promise<string> => {
  const text = await readFile(file, 'utf8').catch(() => '');
  const fields = text.split('\n').map((line) => line.split(':'));
  return fields.find((f) => f[2] === String(id))?.[0] ?? String(id);
};

const groupReadWrite = 0o060;

/** Who owns the device node, and whether joining its group would help. */
export async function deniedFault(path: string): Promise<ToolError> {
  const node = await stat(path);
  const owner = await nameOf('/etc/passwd', node.uid);
  const group = await nameOf('/etc/group', node.gid);
  return new ToolError('link.denied', {
    path,
    owner,
    group,
    groupMayUse: (node.mode & groupReadWrite) === groupReadWrite,
  });
}

/** The fault that can be seen before the port is touched; null where there is none. POSIX only. */
export async function faultBeforeOpening(path: string): Promise<ToolError | null> {
  const node = await stat(path).catch(() => null);
  if (!node) return new ToolError('link.missing', { path });
  if (!node.isCharacterDevice()) return new ToolError('link.not-a-port', { path });
  const denied = await access(path, constants.R_OK | constants.W_OK).catch((error) => error);
  return denied ? deniedFault(path) : null;
}

/** How the native binding words its failures (read in its source and measured on Linux), most telling first. */
const wordings: readonly { readonly says: RegExp; readonly fault: (path: string) => ToolError | Promise<ToolError> }[] =
  [
    {
      says: /Cannot lock port|Resource temporarily unavailable/,
      fault: (path) => new ToolError('link.busy', { path, holder: null }),
    },
    { says: /Opening .*: Access denied/, fault: (path) => new ToolError('link.busy', { path, holder: null }) },
    { says: /Device or resource busy/, fault: (path) => new ToolError('link.busy', { path, holder: null }) },
    { says: /No such (file|device)|File not found/, fault: (path) => new ToolError('link.missing', { path }) },
    { says: /Permission denied/, fault: deniedFault },
    {
      says: /Inappropriate ioctl|Is a directory|Not a directory/,
      fault: (path) => new ToolError('link.not-a-port', { path }),
    },
  ];

/** The binding's error as one of ours. */
export async function faultOfOpening(path: string, error: unknown): Promise<ToolError> {
  if (error instanceof ToolError) return error;
  const text = error instanceof Error ? error.message : String(error);
  const known = wordings.find(({ says }) => says.test(text));
  if (known) return known.fault(path);
  const reason = text.replace(/^Error:?\s*/, '').replace(/, cannot open.*$/, '');
  return new ToolError('link.failed', { path, reason }, { cause: error });
}
