import { NOT_RECORDED, type Section } from '../model.ts';
import type { NoteParts } from './parts.ts';

/** Everything that applies and that nobody gave, in one list by group. */
export function notRecordedSection({ facts }: NoteParts): Section[] {
  const items = facts.completeness.groups.flatMap(({ label, fields }) => {
    const gaps = fields.filter(({ state }) => state === 'not recorded').map(({ field }) => field.label);
    return gaps.length === 0 ? [] : [`${label}: ${gaps.join('; ')}.`];
  });
  items.push(
    ...facts.conflicts.filter(({ kind }) => kind === 'stop without start').map(({ sentence }) => sentence),
  );
  if (items.length === 0) return [];
  return [{ id: 'not-recorded', title: capital(NOT_RECORDED), blocks: [{ kind: 'list', items }] }];
}

const capital = (words: string) => words.replace(/^./, (letter) => letter.toUpperCase());
