import { deviceShelf } from './records.ts';
import type { Shelf } from './shelf.ts';

import { type OutboxItem, type SendOutChoice } from './outbox-item.ts';

export type { DeliveryState, OutboxItem, SendOutChoice, Trouble } from './outbox-item.ts';

const choiceKey = ['send-out'] as const;
const itemKey = (item: Pick<OutboxItem, 'identifier'>) => ['outbox', item.identifier.value] as const;

/** Off until a person turns it on. */
export const NO_SENDING: SendOutChoice = { on: false, address: '', token: '' };

/** The outbox on the device: it outlives restarts. Failures are thrown as ShelfError. */
export function createOutbox(shelf: Shelf) {
  return {
    choice: async (): Promise<SendOutChoice> => (await shelf.get<SendOutChoice>(choiceKey)) ?? NO_SENDING,
    choose: (choice: SendOutChoice) => shelf.write([{ kind: 'put', key: choiceKey, value: choice }]),
    /** Those that can be read: of a record that was locked or deleted in between nothing can. */
    items: async () => (await shelf.list<OutboxItem>(['outbox'])).filter((item) => 'state' in item),
    /** Puts a document in; one that is there already stays as it is. */
    async add(item: OutboxItem): Promise<void> {
      if (await shelf.get(itemKey(item))) return;
      await shelf.write([{ kind: 'add', key: itemKey(item), value: item }]);
    },
    update: (item: OutboxItem) => shelf.write([{ kind: 'put', key: itemKey(item), value: item }]),
    remove: (item: Pick<OutboxItem, 'identifier'>) => shelf.write([{ kind: 'remove', key: itemKey(item) }]),
  };
}
export type Outbox = ReturnType<typeof createOutbox>;
export const outbox: Outbox = createOutbox(deviceShelf);
