import { closingOf, closingText, type Closing } from '../core/log/closing.ts';
import type { RecordFile } from '../core/log/events.ts';
import { deviceWriter } from '../store/records.ts';
import { VERSIONS } from './versions.ts';

/** What an export of the record as it stands ends with, signed by this device where it can sign. */
export async function signedClosing(file: RecordFile): Promise<Closing> {
  const { writer, sign } = await deviceWriter();
  const closing = closingOf(file, VERSIONS, writer.device?.publicKey);
  return sign ? { ...closing, signature: await sign(closingText(file.recordId, closing)) } : closing;
}
