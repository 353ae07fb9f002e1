import type { UnitVocabulary } from '../core/vocabulary/vocabulary.ts';
import { readSettings, writeSettings } from '../store/settings.ts';

/** What a person chose on this device. The defaults are what a first start has. */
export interface Settings {
  theme: 'light' | 'dark' | 'contrast';
  /** Factor on all letter sizes, 1 to 2. */
  textScale: number;
  tones: { volume: number; muted: boolean };
  /** Reads accepted entries and answers back with a voice of the device; hearing is off meanwhile. */
  readBack: boolean;
  microphone: {
    deviceId: string | null;
    echoCancellation: boolean;
    noiseSuppression: boolean;
    autoGainControl: boolean;
  };
  /** The unit's own marks on the running clock since the head. Shown without comment. */
  timeMarks: { shown: boolean; marks: { afterSeconds: number; label: string }[] };
  unit: UnitVocabulary;
  /** Standby begins by itself when the app is opened. */
  standbyAtStart: boolean;
  introductionSeen: boolean;
  /** Default for new records: the room's clock minus the device's, and against which clock. */
  roomClock: { roomMinusDeviceMs: number; against: string } | null;
  /** Sharing records over the department's server; null while nobody turned it on here. */
  sharing: {
    department: string;
    path: string;
    wrapKey: string;
    signKey: string;
    pass: string;
    name: string;
    roles: string[];
  } | null;
}

export const DEFAULT_SETTINGS: Settings = {
  theme: 'light',
  textScale: 1,
  tones: { volume: 0.6, muted: false },
  readBack: false,
  // Measured on simulated rooms: see the microphone table in README.md.
  microphone: { deviceId: null, echoCancellation: false, noiseSuppression: false, autoGainControl: true },
  timeMarks: { shown: false, marks: [] },
  unit: {},
  standbyAtStart: false,
  introductionSeen: false,
  roomClock: null,
  sharing: null,
};

/** The settings as the screens see them; `change` keeps them on the device. */
class SettingsState {
  now: Settings = $state.raw(DEFAULT_SETTINGS);
  /** False until the device was read. */
  ready = $state(false);

  async load(): Promise<void> {
    this.now = await readSettings(DEFAULT_SETTINGS);
    this.ready = true;
  }

  /** @returns whether the device kept the change; in this window it holds either way. */
  async change(changes: Partial<Settings>): Promise<boolean> {
    this.now = { ...this.now, ...changes };
    return (await writeSettings(changes)).kind === 'ok';
  }
}

export const settings = new SettingsState();
