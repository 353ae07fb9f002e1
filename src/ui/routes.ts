import type { Component } from 'svelte';
import type { LaterSection, TextKey } from './messages/text.ts';

/** What every screen gets: the parts of the address after its name, e.g. `['ID']` for `#/live/ID`. */
export interface ScreenProps {
  path: string[];
}

export interface Route {
  title: TextKey;
  /** Messages that come with the screen. */
  texts?: LaterSection;
  /**
   * Loaded when it is first opened, so that a broken screen never breaks another. The component takes
   * ScreenProps or no props at all, which Svelte's types cannot say in one type.
   */
  // eslint-disable-next-line @typescript-eslint/no-explicit-any
  load: () => Promise<{ default: Component<any> }>;
}

/** The first part of the hash address → the screen. One line each. */
export const ROUTES: Record<string, Route> = {
  '': { title: 'start.title', load: () => import('./live/Start.svelte') },
  live: { title: 'live.title', load: () => import('./live/LiveScreen.svelte') },
  helper: { title: 'live.helperTitle', load: () => import('./live/HelperScreen.svelte') },
  standby: {
    title: 'common.standby',
    texts: 'standby',
    load: () => import('./standby/StandbyScreen.svelte'),
  },
  settings: { title: 'settings.title', texts: 'settings', load: () => import('./settings/Settings.svelte') },
  'voice-check': {
    title: 'settings.voiceCheckTitle',
    texts: 'settings',
    load: () => import('./settings/VoiceCheck.svelte'),
  },
  questions: {
    title: 'desk.questionsTitle',
    texts: 'desk',
    load: () => import('./questions/Questions.svelte'),
  },
  sign: { title: 'desk.signTitle', texts: 'desk', load: () => import('./sign/Sign.svelte') },
  'hand-out': {
    title: 'desk.handOutTitle',
    texts: 'desk',
    load: () => import('./hand-out/HandOut.svelte'),
  },
  parents: { title: 'desk.parentsTitle', texts: 'desk', load: () => import('./parents/Parents.svelte') },
  talks: { title: 'desk.talksTitle', texts: 'desk', load: () => import('./talks/Talks.svelte') },
  after: { title: 'desk.afterTitle', texts: 'desk', load: () => import('./complete/After.svelte') },
  review: { title: 'desk.reviewTitle', texts: 'desk', load: () => import('./review/Review.svelte') },
  practice: { title: 'practice.title', texts: 'practice', load: () => import('./practice/Practice.svelte') },
  card: { title: 'practice.cardTitle', texts: 'practice', load: () => import('./practice/Card.svelte') },
  note: { title: 'desk.noteTitle', texts: 'desk', load: () => import('./note/Note.svelte') },
  department: {
    title: 'department.title',
    texts: 'department',
    load: () => import('./department/Department.svelte'),
  },
  'shared-records': {
    title: 'start.sharedRecords',
    texts: 'share',
    load: () => import('./share/SharedRecords.svelte'),
  },
  share: { title: 'live.share.title', texts: 'share', load: () => import('./share/Share.svelte') },
  join: { title: 'start.join', texts: 'share', load: () => import('./share/Join.svelte') },
  wall: { title: 'live.title', texts: 'share', load: () => import('./share/Wall.svelte') },
  records: { title: 'desk.recordsTitle', texts: 'desk', load: () => import('./records/Records.svelte') },
};
