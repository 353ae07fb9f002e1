import type { NatsConnection } from '@nats-io/nats-core';
import { jetstream, jetstreamManager, type JsMsg } from '@nats-io/jetstream';

export interface ReadOptions {
  /** First place in the stream that is wanted; all where absent. */
  from?: number;
  headersOnly?: boolean;
}

const AT_ONCE = 1000;
const FETCH_MS = 4000;

/**
 * Reads what lies under a subject of a stream, oldest first, and ends. One at a time for each stream: the server lets
 * a connection have one reader, named after it.
 */
export async function readAll(
  nc: NatsConnection,
  conn: string,
  stream: string,
  filter: string,
  each: (message: JsMsg) => void | Promise<void>,
  { from, headersOnly = false }: ReadOptions = {},
): Promise<number> {
  const jsm = await jetstreamManager(nc, { checkAPI: false, timeout: 3000 });
  const wanted = {
    name: conn,
    filter_subject: filter,
    ack_policy: 'none',
    mem_storage: true,
    inactive_threshold: 20e9,
    headers_only: headersOnly,
    ...(from === undefined
      ? { deliver_policy: 'all' as const }
      : { deliver_policy: 'by_start_sequence' as const, opt_start_seq: from }),
  } as const;
  const info = await jsm.consumers.add(stream, wanted).catch(async () => {
    // One that was cut off in the middle may have left its reader behind.
    await jsm.consumers.delete(stream, conn).catch(() => false);
    return jsm.consumers.add(stream, wanted);
  });
  let left = info.num_pending;
  let count = 0;
  try {
    const consumer = jetstream(nc, { timeout: 3000 }).consumers.getConsumerFromInfo(info);
    while (left > 0) {
      const messages = await consumer.fetch({ max_messages: Math.min(left, AT_ONCE), expires: FETCH_MS });
      // A wire that goes silent in the middle must not hold up every comparison after it.
      const watchdog = setTimeout(() => messages.stop(), FETCH_MS + 2000);
      let got = 0;
      try {
        for await (const message of messages) {
          got += 1;
          await each(message);
        }
      } finally {
        clearTimeout(watchdog);
      }
      if (got === 0) throw new Error('the server stopped in the middle');
      count += got;
      left -= got;
    }
  } finally {
    await jsm.consumers.delete(stream, conn).catch(() => false);
  }
  return count;
}
