import { isSealed } from '../../core/log/after-signing.ts';
import { text, type TextKey } from '../messages/text.ts';
import type { Desk } from './desk.svelte.ts';

/** The way from birth to signed note, in order; each is a screen with one main action: to the next. */
export const STEPS = ['questions', 'after', 'note', 'sign', 'hand-out'] as const;
export type Step = (typeof STEPS)[number];
/** Beside the way: where people look things up, or come back to days later. */
export const BESIDE = ['review', 'parents', 'talks', 'live'] as const;
export type Place = Step | (typeof BESIDE)[number];

/** Signatures since the last amendment. */
export function signaturesNow({ view }: Pick<Desk, 'view'>): number {
  const amended = view.amendments.at(-1)?.seq ?? -1;
  return view.signatures.filter(({ seq }) => seq > amended).length;
}

/** The plain status of a step, in a word or two; '' where there is nothing to say. */
export function statusOf(step: Step, desk: Desk): string {
  const { view, facts, open } = desk;
  const { asked, recorded } = facts.completeness;
  switch (step) {
    case 'questions':
      return open.length === 0 ? text('desk.status.none') : text('desk.status.open', { count: open.length });
    case 'after':
      return asked === recorded
        ? text('desk.status.none')
        : text('desk.status.missing', { count: asked - recorded });
    case 'note':
      return '';
    case 'sign':
      return isSealed(view)
        ? text('desk.status.signed', { count: signaturesNow(desk) })
        : text('desk.status.unsigned');
    case 'hand-out':
      return '';
  }
}

export const nameOf = (place: Place): string => text(`desk.nav.${place}` as TextKey);
