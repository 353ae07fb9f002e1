import type { NatsConnection } from '@nats-io/nats-core';
import { laneOfKey } from '../store/device-key.ts';
import type { Member, SharingState } from '../store/sharing.ts';
import { isGenuine, keyMessage, keyOf, type KeyMessage } from './members.ts';
import { readAll } from './reading.ts';
import { STREAMS, subjects, type DepartmentCard } from './subjects.ts';
import { SUMMARY_PURPOSE, type SharedSummary, type SummaryMessage } from './summaries.ts';
import { unwrapper } from './wrapping.ts';

/** What the department's list holds: records that this key opens, and how many it does not. */
export interface DepartmentList {
  records: SharedSummary[];
  notOpened: number;
}

/** Reads the list of all records; newest first. `unwrapKey`: the department's private key. */
export async function readList(
  nc: NatsConnection,
  conn: string,
  unwrapKey: CryptoKey,
): Promise<DepartmentList> {
  const open = unwrapper(unwrapKey, SUMMARY_PURPOSE);
  const opening: Promise<SharedSummary | null>[] = [];
  await readAll(nc, conn, STREAMS.summaries, 'u.sum.>', (message) => {
    const recordId = message.subject.split('.')[2];
    opening.push(
      (async () => {
        const { wrapped } = message.json<SummaryMessage>();
        const bytes = await open(wrapped);
        const summary = bytes && (JSON.parse(new TextDecoder().decode(bytes)) as SharedSummary);
        // One that was put under another record's name is none.
        return summary?.recordId === recordId ? summary : null;
      })().catch(() => null),
    );
  });
  const all = await Promise.all(opening);
  const records = all.filter((one) => one !== null);
  return {
    records: records.sort((a, b) => (a.createdAt < b.createdAt ? 1 : -1)),
    notOpened: all.length - records.length,
  };
}

/**
 * What a desk of the department needs to follow one record: its keys, opened with the department's, and who belongs.
 * @throws a sentence where the record is not this department's.
 */
export async function openForDesk(
  nc: NatsConnection,
  conn: string,
  recordId: string,
  department: { card: Pick<DepartmentCard, 'path' | 'wrapKey' | 'signKey'>; wrapPrivate: CryptoKey },
): Promise<{ state: SharingState; number: number }> {
  const { card, wrapPrivate } = department;
  const lists: KeyMessage[] = [];
  await readAll(nc, conn, STREAMS.keys, subjects.keys(recordId), (message) => {
    lists.push(message.json<KeyMessage>());
  });
  const first = lists.find(({ by }) => by === 'host');
  if (!first || laneOfKey(first.hostKey) !== first.hostLane)
    throw new Error('The server holds no keys of this record: it was erased, or never shared.');
  const { hostLane, hostKey } = first;
  const anchor = { hostLane, hostKey, departmentSignKey: card.signKey };
  const keys: Record<number, string> = {};
  let newest = first;
  for (const list of lists) {
    if (!(await isGenuine(list, recordId, anchor))) continue;
    const key = await keyOf(list, 'department', wrapPrivate);
    if (key) keys[list.epoch] = key;
    if (list.epoch > newest.epoch || (list.epoch === newest.epoch && list.number >= newest.number))
      newest = list;
  }
  if (keys[newest.epoch] === undefined)
    throw new Error(
      'This record was shared with another department’s key: this desk cannot open it. Nothing was changed.',
    );
  const state: SharingState = {
    part: 'desk',
    path: card.path,
    hostLane,
    hostKey,
    departmentWrapKey: card.wrapKey,
    departmentSignKey: card.signKey,
    epoch: newest.epoch,
    keys,
    members: newest.members,
    gone: newest.gone,
  };
  return { state, number: newest.number };
}

/** The desk lets itself in, in the department's name. */
export async function admitDesk(
  nc: NatsConnection,
  recordId: string,
  opened: { state: SharingState; number: number },
  desk: Member,
  sign: (text: string) => Promise<string>,
): Promise<SharingState> {
  const { state, number } = opened;
  if (state.members.some(({ lane }) => lane === desk.lane)) return state;
  const next: SharingState = { ...state, members: [...state.members, desk] };
  const message = await keyMessage(recordId, next, number + 1, 'department', sign);
  await nc.request(subjects.keysOf(recordId, desk.lane), JSON.stringify(message), { timeout: 4000 });
  return next;
}
