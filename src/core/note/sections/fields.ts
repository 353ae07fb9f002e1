import type { FieldGroup, FieldState } from '../../facts/completeness.ts';
import type { EntryView } from '../../log/view.ts';
import { codeInfo } from '../../vocabulary/code-info.ts';
import { entryLabel } from '../../vocabulary/entry-label.ts';
import type { Vocabulary } from '../../vocabulary/vocabulary.ts';
import { authorText } from '../lines.ts';
import { NOT_RECORDED, type Pair, type Section } from '../model.ts';
import { apgarScore, weightText } from '../phrase.ts';
import { madeText, timeText } from '../times.ts';
import { LANDMARKS } from './key-times.ts';
import type { NoteParts } from './parts.ts';

/** Each group of fields: what is recorded, then the gaps by name. */
export function fieldSections(parts: NoteParts): Section[] {
  return parts.facts.completeness.groups.map(({ id, label, fields }) => {
    const pairs = fields.flatMap((field) => pairOf(field, parts));
    const gaps = fields.filter(({ state }) => state === 'not recorded').map(({ field }) => field.label);
    const text =
      gaps.length === 0
        ? 'All fields of this group are recorded.'
        : `${capital(NOT_RECORDED)}: ${gaps.join('; ')}.`;
    return {
      id: `fields-${id}`,
      title: TITLES[id] ?? label,
      blocks: [...(pairs.length > 0 ? [{ kind: 'pairs' as const, pairs }] : []), { kind: 'text', text }],
    };
  });
}

/** Times, findings and manoeuvres have tables of their own above. */
const TITLES: Partial<Record<FieldGroup, string>> = {
  timings: 'Further times',
  findings: 'Further findings',
  manoeuvres: 'Manoeuvres: further details',
};

const capital = (words: string) => words.replace(/^./, (letter) => letter.toUpperCase());

/** Fields that stand in the key times or among the sides, with all their readings. */
const SHOWN_ABOVE = new Set([
  ...LANDMARKS,
  'head-faces',
  'fetal-back',
  'fetal-position',
  'anterior-shoulder',
]);

/** A recorded field: its typed text and the entries that fill it. Derived fields stand in their own tables. */
function pairOf({ field, state, entryIds, typed }: FieldState, parts: NoteParts): Pair[] {
  const above =
    field.derived !== undefined || field.filledBy?.every(({ code }) => SHOWN_ABOVE.has(code)) === true;
  if (state !== 'recorded' || (above && typed === undefined)) return [];
  const values: string[] = [];
  if (typed !== undefined) values.push(field.unit === undefined ? typed : `${typed} ${field.unit}`);
  if (!above) {
    const entries = parts.view.entries.filter((e) => entryIds.includes(e.entryId));
    values.push(...entries.map((e) => entryValue(e, field.filledBy?.[0]?.slot, parts)));
  }
  const kept = typed === undefined ? undefined : parts.view.fields[field.id];
  const remark =
    kept === undefined ? undefined : `typed in by ${authorText(kept.by)}, ${madeText(kept.madeAt)}`;
  return [{ label: field.label, value: values.join('; '), ...(remark === undefined ? {} : { remark }) }];
}

/** "4200 g, 9 lb 4.2 oz (14:12:10)": what the entry gives for this field, and its time. */
function entryValue(e: EntryView, slot: string | undefined, { view, vocabulary }: NoteParts): string {
  const time = timeText(view, e.atMs);
  const marks = [e.estimated ? 'estimated' : '', e.addedLater ? 'added later' : ''].filter(
    (mark) => mark !== '',
  );
  const when = [time, ...marks].join(', ');
  const details = detailsOf(e, slot, vocabulary);
  return details === '' ? when : `${details} (${when})`;
}

/** The slots of an entry without the code's own name; the one slot alone where the field is that slot. */
function detailsOf({ entry }: EntryView, slot: string | undefined, vocabulary: Vocabulary): string {
  if (entry.code === 'apgar') return apgarScore(entry);
  if (entry.grams !== undefined) return weightText(entry.grams);
  if (slot === 'side') return `mother's ${entry.side}`;
  if (slot === 'style' || slot === 'method') return String(entry[slot]);
  const whole = entryLabel(slot === 'vessel' ? { ...entry, vessel: undefined } : entry, vocabulary);
  return whole.slice(codeInfo(vocabulary, entry.code).label.length).replace(/^[:,\u2013 ]+/, '');
}
