import { logged } from '../../facts/logged.ts';
import { endWasCalled } from '../../facts/manoeuvres.ts';
import type { ManoeuvreSpan } from '../../facts/types.ts';
import { codeInfo } from '../../vocabulary/code-info.ts';
import { phrase } from '../phrase.ts';
import { headMs, isoText } from '../times.ts';
import { coded, MOTHER, type Document, type Resource } from './base.ts';

export const BIRTH = 'procedure/birth';
export const procedureName = (span: ManoeuvreSpan): string => `procedure/${span.first.entryId}`;

/** The birth, only where a person named the dystocia; the record never decides that one happened. */
export function birthProcedure({ note, idOf, refTo, meta }: Document): Resource | null {
  const { view } = note;
  if (logged(view, 'dystocia-declared').length === 0) return null;
  const [start, bodies] = [headMs(view), logged(view, 'body-delivered')];
  const end = bodies.length === 1 ? bodies[0]!.atMs : null;
  const performedPeriod = period(note.view, start, end);
  return {
    resourceType: 'Procedure',
    id: idOf(BIRTH),
    ...meta(),
    status: end === null ? 'unknown' : 'completed',
    code: coded({ code: 'summary-birth', display: 'Vaginal birth with shoulder dystocia' }),
    subject: refTo(MOTHER),
    ...(performedPeriod === null ? {} : { performedPeriod }),
    note: [{ text: 'A shoulder dystocia was declared by a person in the room.' }],
  };
}

/** Both ends where they are known and in order; null where there is none or they contradict each other. */
function period(view: Document['note']['view'], startMs: number | null, endMs: number | null) {
  if (startMs === null && endMs === null) return null;
  if (startMs !== null && endMs !== null && endMs < startMs) return null;
  return {
    ...(startMs === null ? {} : { start: isoText(view, startMs) }),
    ...(endMs === null ? {} : { end: isoText(view, endMs) }),
  };
}

const nameOf = ({ note }: Document, code: string) => ({
  code,
  display: codeInfo(note.vocabulary, code).label,
});

/** One Procedure for each span. An end that nobody called out is left open and said in the note. */
export function manoeuvreProcedures(document: Document): Resource[] {
  const { note, idOf, refTo, meta } = document;
  const partOf = birthProcedure(document) === null ? {} : { partOf: [refTo(BIRTH)] };
  const spans = note.facts.manoeuvres.map((span): Resource => {
    const called = endWasCalled(span);
    const endMs = called && span.end.kind !== 'not recorded' ? span.end.atMs : null;
    const performedPeriod = period(note.view, span.startMs, endMs);
    const { phase: _phase, ...bare } = span.first.entry;
    const lines = note.lines.filter(({ entry }) => span.entryIds.includes(entry.entryId));
    const outcome = outcomeText(span);
    return {
      resourceType: 'Procedure',
      id: idOf(procedureName(span)),
      ...meta(),
      ...partOf,
      status: span.outcome === 'failed' ? 'stopped' : 'completed',
      code: coded(nameOf(document, bare.code), phrase(bare, note.vocabulary)),
      subject: refTo(MOTHER),
      ...(performedPeriod === null ? {} : { performedPeriod }),
      ...(outcome === null ? {} : { outcome: { text: outcome } }),
      note: [
        { text: `Number ${span.number} in order of beginning.${called ? '' : ' No end was called out.'}` },
        ...lines.map(({ number, text }) => ({ text: `Entry ${number}: ${text}` })),
      ],
    };
  });
  return [...spans, ...notDone(document, partOf)];
}

function outcomeText(span: ManoeuvreSpan): string | null {
  const told: string[] = span.outcome === null ? [] : [span.outcome];
  for (const { shared } of span.noEffect)
    told.push(shared ? 'no effect called out while others were under way too' : 'no effect called out');
  return told.length > 0 ? told.join('; ') : null;
}

/** "No episiotomy": a decision, exported as a procedure that was not done. */
function notDone(document: Document, partOf: object): Resource[] {
  const { note, idOf, refTo, meta } = document;
  return logged(note.view)
    .filter(({ entry }) => entry.decision === 'not-needed')
    .map(({ entry, entryId, atMs }) => ({
      resourceType: 'Procedure',
      id: idOf(`procedure/${entryId}`),
      ...meta(),
      ...partOf,
      status: 'not-done',
      statusReason: { text: 'not needed, as called out' },
      code: coded(nameOf(document, entry.code), phrase({ ...entry, decision: undefined }, note.vocabulary)),
      subject: refTo(MOTHER),
      performedDateTime: isoText(note.view, atMs),
    }));
}
