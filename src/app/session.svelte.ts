import type { SpeechClient } from '../asr/client.ts';
import type { Sound } from '../audio/wav.ts';
import { storedVocabulary } from '../packs/vocabulary.ts';
import type { UnitFault } from '../core/vocabulary/unit-phrases.ts';
import type { Vocabulary } from '../core/vocabulary/vocabulary.ts';
import type { HearingSnapshot } from './hearing-state.ts';
import { Listening, type StandbyEar } from './listening.svelte.ts';
import { RunningRecord, type OpenOutcome } from './running-record.svelte.ts';
import { settings } from './settings.svelte.ts';
import { openWindowChannel } from './windows.ts';
import { sharingKept } from '../store/sharing.ts';
import type { sharing } from './sharing.svelte.ts';

/** Its code comes only where a record is shared. */
const sharingHere = () => import('./sharing.svelte.ts').then((module) => module.sharing);

RunningRecord.clockElsewhere = async (recordId) =>
  (await sharingKept.read(recordId).catch(() => undefined)) ? (await sharingHere()).clockOf(recordId) : null;

/**
 * What goes on in this window while screens come and go: the records that are open and the one that is
 * being listened to. A screen takes a record and releases it; a record that is still running stays open, so
 * that its clock goes on without a break.
 */
class Session {
  /** The record that is being heard in this window, and its hearing. */
  hearing: { record: RunningRecord; listening: Listening } | null = $state.raw(null);
  /** The hearing of another window of this device, per record. */
  elsewhere: ReadonlyMap<string, HearingSnapshot> = $state.raw(new Map());
  readonly #words = $derived.by(() => storedVocabulary(settings.now.unit));
  /** The unit's vocabulary, or the app's own where the unit's words cannot be used. */
  readonly vocabulary: Vocabulary = $derived(this.#words.vocabulary);
  /** What of the unit's words is not used: single phrases, or the whole list. The start screen says so. */
  readonly wordsLeftOut: { phrases: readonly UnitFault[]; list: boolean } = $derived({
    phrases: this.#words.left,
    list: !this.#words.fits,
  });
  /** Records shared with other devices; null until one is, in this window. */
  shared: typeof sharing | null = $state.raw(null);
  #open = new Map<string, Promise<OpenOutcome>>();
  #users = new Map<string, number>();
  readonly #channel = openWindowChannel((message) => {
    if (message.kind === 'hearing') {
      const hearing = message.hearing as HearingSnapshot;
      this.elsewhere = new Map(this.elsewhere).set(message.recordId, hearing);
    } else if (message.kind === 'clock-wanted' && this.hearing?.record.recordId === message.recordId) {
      // A window that has just opened the record wants to know how it is heard, too.
      this.hearing.listening.tellHearing();
    }
  });

  async begin(options: Parameters<typeof RunningRecord.begin>[0]): Promise<RunningRecord> {
    const record = await RunningRecord.begin(options);
    this.#open.set(record.recordId, Promise.resolve({ kind: 'open', record }));
    return record;
  }

  /** Opens a record for a screen; the screen must `release` it. */
  async take(recordId: string): Promise<OpenOutcome> {
    this.#users.set(recordId, (this.#users.get(recordId) ?? 0) + 1);
    const opening = this.#open.get(recordId) ?? RunningRecord.open(recordId);
    this.#open.set(recordId, opening);
    const outcome = await opening;
    if (outcome.kind !== 'open') this.#open.delete(recordId);
    else void this.#follow(outcome.record);
    return outcome;
  }

  /** Where the record is shared, it is followed while it is open here. */
  async #follow(record: RunningRecord): Promise<void> {
    const kept = await sharingKept.read(record.recordId).catch(() => undefined);
    if (!kept) return;
    record.readOnly = kept.part === 'wall';
    this.shared ??= await sharingHere();
    await this.shared.attach(record);
  }

  /** Begins sharing a record that is open here. @throws a sentence where that is not possible now. */
  async share(record: RunningRecord): Promise<void> {
    this.shared ??= await sharingHere();
    await this.shared.share(record);
  }

  async release(recordId: string): Promise<void> {
    const users = (this.#users.get(recordId) ?? 1) - 1;
    this.#users.set(recordId, users);
    const outcome = await this.#open.get(recordId);
    if (outcome?.kind === 'open') await outcome.record.settled();
    if (users > 0 || outcome?.kind !== 'open' || (this.#users.get(recordId) ?? 0) > 0) return;
    const running = outcome.record.view.finishedAtMs === null || this.hearing?.record === outcome.record;
    if (running) return;
    this.#open.delete(recordId);
    void this.shared?.detach(recordId);
    outcome.record.close();
  }

  /** Forgets a record that was deleted, so that a copy of it is never shown again. */
  async forget(recordId: string): Promise<void> {
    if (this.hearing?.record.recordId === recordId) await this.stopHearing();
    await this.shared?.detach(recordId);
    const outcome = await this.#open.get(recordId);
    this.#open.delete(recordId);
    if (outcome?.kind === 'open') outcome.record.close();
  }

  /** Starts hearing the microphone for a record, with the settings' choices and the model that is `open` already. */
  async hearMicrophone(record: RunningRecord, open: SpeechClient | null = null): Promise<void> {
    await this.openMicrophone(await this.#hearFor(record), open);
  }

  openMicrophone(listening: Listening, open: SpeechClient | null): Promise<void> {
    const { deviceId, ...processing } = settings.now.microphone;
    const wishes = { ...processing, ...(deviceId ? { deviceId } : {}) };
    return listening.start({ kind: 'microphone', wishes }, open);
  }

  /** Plays a recording through the same path, in real time. Resolves when it plays, or cannot. */
  async hearRecording(record: RunningRecord, url: string, label: string): Promise<Listening> {
    const sound = await fetchSound(url);
    const listening = await this.#hearFor(record);
    await listening.start({ kind: 'recording', sound, label, speed: 1 });
    return listening;
  }

  async stopHearing(): Promise<void> {
    await this.hearing?.listening.stop();
    this.hearing = null;
  }

  async #hearFor(record: RunningRecord): Promise<Listening> {
    await this.stopHearing();
    const listening = this.standBy(record);
    this.hearing = { record, listening };
    return listening;
  }

  /** Hearing that is not started yet; other windows are told of it once it belongs to a record. */
  standBy(to: RunningRecord | StandbyEar): Listening {
    const listening: Listening = new Listening(
      to,
      () => this.vocabulary,
      (hearing) => {
        if (this.hearing?.listening !== listening) return;
        const { recordId } = this.hearing.record;
        this.#channel.send({ kind: 'hearing', recordId, hearing: $state.snapshot(hearing) });
      },
    );
    return listening;
  }

  /** The record that standby began goes on with the hearing that standby had. */
  goOnWith(record: RunningRecord, listening: Listening): void {
    this.hearing = { record, listening };
    listening.tellHearing();
  }
}

/**
 * Fetches a recording: a WAV as it is, anything else through the browser's decoder.
 * @throws a sentence where it is missing or no sound.
 */
async function fetchSound(url: string): Promise<Sound> {
  const response = await fetch(url).catch(() => null);
  if (!response?.ok) {
    throw new Error(
      'The recording could not be fetched. The record is open; call-outs can be spoken or logged by touch.',
    );
  }
  const bytes = new Uint8Array(await response.arrayBuffer());
  if (url.endsWith('.wav')) return (await import('../audio/wav.ts')).readWav(bytes);
  const context = new OfflineAudioContext(1, 1, 16_000);
  const buffer = await context.decodeAudioData(bytes.buffer as ArrayBuffer);
  return { sampleRate: buffer.sampleRate, samples: buffer.getChannelData(0) };
}

export const session = new Session();
