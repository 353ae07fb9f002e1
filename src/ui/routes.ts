import type { Component } from 'svelte';
import type { TextKey } from './messages/text.ts';

/** What every screen gets: the parts of the address after its name, e.g. `['ID']` for `#/live/ID`. */
export interface ScreenProps {
  path: string[];
}

export interface Route {
  title: TextKey;
  /**
   * Loaded when it is first opened, so that a broken screen never breaks another. The component takes
   * ScreenProps or no props at all, which Svelte's types cannot say in one type.
   */
  load: () => Promise<{ default: Component<any> }>;
}

/** The first part of the hash address → the screen. One line each. */
export const ROUTES: Record<string, Route> = {
  '': { title: 'start.title', load: () => import('./live/Start.svelte') },
  live: { title: 'live.title', load: () => import('./live/LiveScreen.svelte') },
  helper: { title: 'live.helperTitle', load: () => import('./live/HelperScreen.svelte') },
  settings: { title: 'settings.title', load: () => import('./settings/Settings.svelte') },
  'voice-check': {
    title: 'settings.voiceCheckTitle',
    load: () => import('./settings/VoiceCheck.svelte'),
  },
  after: { title: 'desk.afterTitle', load: () => import('./desk/After.svelte') },
  review: { title: 'desk.reviewTitle', load: () => import('./desk/Review.svelte') },
  practice: { title: 'practice.title', load: () => import('./practice/Practice.svelte') },
  card: { title: 'practice.cardTitle', load: () => import('./practice/Card.svelte') },
  note: { title: 'desk.noteTitle', load: () => import('./desk/Note.svelte') },
  records: { title: 'desk.recordsTitle', load: () => import('./desk/Records.svelte') },
};
