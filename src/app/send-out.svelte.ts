import { foldRecord } from '../core/log/fold.ts';
import { NO_SENDING, outbox, type OutboxItem, type SendOutChoice } from '../store/outbox.ts';
import { readRecord } from '../store/records.ts';
import { makeExport } from './exports.ts';
import { deliver, sendAddress } from './send-out.ts';

export type QueueOutcome =
  | { kind: 'queued' }
  /** `practice` records and unfinished ones are never sent; `locked`: unlock it first. */
  | { kind: 'refused'; why: 'off' | 'practice' | 'unfinished' | 'locked' | 'unreadable' };

let sending = false;

/**
 * Runs `work` in one window at a time, however slow the server is. Where another window sends, this one leaves it to
 * that; what is left then comes due here again.
 */
async function oneSender(work: () => Promise<void>): Promise<void> {
  if (sending) return;
  sending = true;
  try {
    if (!navigator.locks) return await work();
    await navigator.locks.request('utterlog sender', { ifAvailable: true }, async (lock) => {
      if (lock) await work();
    });
  } finally {
    sending = false;
  }
}

/**
 * Delivery of finished records to the one FHIR server that a person named, off until they turn it on: the only
 * thing in the app that reaches another origin. The outbox lies on the device; one window sends at a time.
 */
class SendOut {
  choice: SendOutChoice = $state.raw(NO_SENDING);
  items: OutboxItem[] = $state.raw([]);
  /** The app's own server does not let it reach this origin (FHIR_ORIGIN at its start). */
  forbidden: string | null = $state(null);
  #timer: ReturnType<typeof setTimeout> | undefined;
  #watching = false;
  #read: Promise<void> | undefined;

  /** The choice as it was left on the device: read once, before anything is chosen over it. */
  read(): Promise<void> {
    this.#read ??= outbox.choice().then((choice) => {
      this.choice = choice;
    });
    return this.#read;
  }

  /** Reads what is on the device and goes on with what waits. */
  async load(): Promise<void> {
    if (!this.#watching) {
      this.#watching = true;
      addEventListener('online', () => void this.sendDue());
      document.addEventListener('securitypolicyviolation', (event) => {
        if (event.effectiveDirective !== 'connect-src') return;
        this.forbidden = URL.canParse(event.blockedURI) ? new URL(event.blockedURI).origin : event.blockedURI;
      });
    }
    await this.read();
    await this.sendDue();
  }

  /** Turns sending on to this address, or off. False where the address cannot be used; nothing changes then. */
  async choose(choice: SendOutChoice): Promise<boolean> {
    const address = sendAddress(choice.address);
    if (choice.on && address === null) return false;
    await this.read();
    this.choice = { ...choice, address: address ?? choice.address };
    await outbox.choose(this.choice);
    this.forbidden = null;
    await this.sendDue();
    return true;
  }

  /** Puts a finished record's FHIR document into the outbox. */
  async queue(recordId: string): Promise<QueueOutcome> {
    if (!this.choice.on) return { kind: 'refused', why: 'off' };
    const found = await readRecord(recordId);
    if (found.kind === 'locked') return { kind: 'refused', why: 'locked' };
    if (found.kind !== 'ok' && found.kind !== 'held') return { kind: 'refused', why: 'unreadable' };
    const view = foldRecord(found.file);
    if (view.mode === 'practice') return { kind: 'refused', why: 'practice' };
    if (view.finishedAtMs === null) return { kind: 'refused', why: 'unfinished' };
    const earlier = (await outbox.items()).filter(
      (item) => item.recordId === recordId && item.state.kind === 'accepted',
    );
    const replaces = earlier.sort((a, b) => (a.queuedAt < b.queuedAt ? -1 : 1)).at(-1)?.identifier;
    const made = makeExport(found.file, 'fhir', { practiceAskedFor: false, replaces });
    if (made.kind === 'refused') return { kind: 'refused', why: 'practice' };
    const { identifier } = JSON.parse(made.file.text) as Pick<OutboxItem, 'identifier'>;
    await outbox.add({
      identifier,
      recordId,
      reference: view.reference,
      address: this.choice.address,
      queuedAt: new Date().toISOString(),
      bundle: made.file.text,
      state: { kind: 'waiting', tries: 0, nextAtMs: 0, sentBefore: false },
    });
    await this.sendDue();
    return { kind: 'queued' };
  }

  /** Sends what is due now; `all` does not wait for the next time. */
  async sendDue(all = false): Promise<void> {
    await oneSender(async () => {
      for (const item of await outbox.items()) {
        const { state: before } = item;
        const due =
          before.kind === 'waiting' ? all || before.nextAtMs <= Date.now() : all && before.kind === 'refused';
        // A document that was meant for another address stays until that is chosen again.
        if (!this.choice.on || !due || item.address !== this.choice.address) continue;
        // Noted before it is tried: a window that dies in the middle leaves a document that may have arrived.
        if (item.state.kind === 'waiting') {
          await outbox.update({ ...item, state: { ...item.state, sentBefore: true } });
        }
        const state = await deliver(item, this.choice, Date.now());
        await outbox.update({ ...item, state, ...(state.kind === 'accepted' ? { bundle: '' } : {}) });
      }
    });
    await this.#follow();
  }

  async remove(item: OutboxItem): Promise<void> {
    await outbox.remove(item);
    await this.#follow();
  }

  async #follow(): Promise<void> {
    this.items = await outbox.items();
    clearTimeout(this.#timer);
    const times = this.items.flatMap(({ state }) => (state.kind === 'waiting' ? [state.nextAtMs] : []));
    if (!this.choice.on || times.length === 0) return;
    this.#timer = setTimeout(() => void this.sendDue(), Math.max(1_000, Math.min(...times) - Date.now()));
  }
}

export const sendOut = new SendOut();
