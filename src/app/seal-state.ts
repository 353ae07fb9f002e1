import { verifySteps } from '../core/log/chain.ts';
import type { RecordFile } from '../core/log/events.ts';
import { rootOf } from '../core/log/lanes.ts';
import { signatureFault, writersOf, type LaneWriter } from '../core/log/seal.ts';
import { countedEvents, deviceWriter } from '../store/records.ts';
import { checkSignature } from '../store/signature.ts';
import { inTurns } from './turns.ts';

/** A lane of the record, and whether this device's key wrote it. */
export interface Writer extends LaneWriter {
  thisDevice: boolean;
}

/** What was found of a log that is open on this device. */
export type SealState =
  | { kind: 'broken'; event: string; why: string }
  /** The list of records counted more events than are here. */
  | { kind: 'short'; counted: number; here: number }
  | { kind: 'whole'; head: string; events: number; writers: Writer[]; sealedAtImport: boolean };

/** Checks chain, signatures and the list's count, in turns with the page. Null where the signal ended it. */
export async function sealState(file: RecordFile, signal: AbortSignal): Promise<SealState | null> {
  const chain = await inTurns(verifySteps(file), { signal });
  if (chain.kind === 'cancelled') return null;
  const { result } = chain;
  if (result.kind === 'broken') return { kind: 'broken', event: String(result.seq), why: result.why };
  const counted = await countedEvents(file.recordId);
  if (counted !== undefined && counted > file.events.length)
    return { kind: 'short', counted, here: file.events.length };
  const writers = writersOf(file.events);
  const fault = await signatureFault(file, writers, checkSignature);
  if (fault !== null) return { kind: 'broken', event: fault.event ?? '', why: fault.why };
  const { lane } = (await deviceWriter()).writer;
  const [first] = file.events;
  return {
    kind: 'whole',
    head: rootOf(file.events),
    events: file.events.length,
    writers: writers.map((writer) => ({ ...writer, thisDevice: writer.lane === lane })),
    sealedAtImport: first?.kind === 'begin' && first.record?.migratedFrom !== undefined,
  };
}
