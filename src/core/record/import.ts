import { Validator, type Schema } from '@cfworker/json-schema';
import schema from '../../../static/utterlog-record.schema.json';
import { eventName, verifySteps } from '../log/chain.ts';
import { timeOfDay } from '../log/clock.ts';
import type { LogEvent, RecordFile } from '../log/events.ts';
import { mergeLanes, rootOf } from '../log/lanes.ts';
import { DAY_MS, LONGEST_MS } from '../log/time-bounds.ts';
import type { Closing } from '../log/closing.ts';
import { allAtOnce, type Steps } from '../steps.ts';
import { keyProblem, textProblem } from './guard.ts';
import { CURRENT_VERSION, OLDER_VERSIONS, READ_AS_IT_IS } from './migrate.ts';
import type { Vocabulary } from '../vocabulary/vocabulary.ts';
import type { Problem } from './problem.ts';
import { referenceProblem } from './references.ts';

/** `place`: where in the file, as a JSON pointer or a line; `sentence`: what is wrong and what was kept. */
export type ImportResult =
  { kind: 'ok'; file: RecordFile } | { kind: 'refused'; sentence: string; place: string };

/** Events checked against the schema in one step: about ten milliseconds' work. */
const STEP = 100;
/** Share of the work that the schema is; the chain is the rest. */
const SCHEMA_SHARE = 0.4;

/**
 * Reads an exported record. Older versions are brought to the present one; events may stand in any order.
 * A damaged, altered or foreign file is refused with the place named; nothing of it is kept.
 */
export const importRecord = (text: string, vocabulary?: Vocabulary): ImportResult =>
  allAtOnce(importSteps(text, vocabulary));

/**
 * The same in steps, for files that take long.
 * @param vocabulary the words of this device, with the unit's own. Without one, codes and slots pass as they are.
 */
export function* importSteps(text: string, vocabulary?: Vocabulary): Steps<ImportResult> {
  const problem = textProblem(text);
  if (problem !== null) return refused(problem);
  let value: unknown;
  try {
    // Some editors put a byte order mark in front.
    value = JSON.parse(text.replace(/^\uFEFF/, ''));
  } catch (error) {
    return refused({ place: placeOfParseError(error, text), why: 'it is not complete JSON' });
  }
  const keys = keyProblem(value);
  if (keys !== null) return refused(keys);
  const present = toPresentVersion(value);
  if ('why' in present) return refused(present);
  const wrong = yield* fileProblem(present.value);
  if (wrong !== null) return refused(wrong);
  const { closing = null, ...read } = present.value as RecordFile & { closing?: Closing };
  const file = inOrder(read);
  if ('why' in file) return refused(file);
  const damage =
    headDamage(file) ??
    (yield* chainDamage(file)) ??
    (hasClosing(value) ? closingDamage(file, closing) : null) ??
    referenceProblem(file, vocabulary);
  return damage === null ? { kind: 'ok', file } : refused(damage);
}

const refused = ({ place, why }: Problem): ImportResult => ({
  kind: 'refused',
  place,
  sentence: `This file was not imported: ${why} (${place}). Nothing on this device was changed. Export the record again and try that file.`,
});

function placeOfParseError(error: unknown, text: string): string {
  const position = /position (\d+)/.exec(String(error))?.[1];
  const before = text.slice(0, position === undefined ? text.length : Number(position));
  return `line ${before.split('\n').length}`;
}

/** Steps an older file up, version by version, each checked by its own schema first. */
function toPresentVersion(value: unknown): { value: unknown } | Problem {
  let file = value as { format?: unknown; version?: unknown };
  if (typeof file !== 'object' || file === null || Array.isArray(file) || file.format !== 'utterlog-record') {
    return { place: '/format', why: 'it is not a record of this app' };
  }
  while (
    !READ_AS_IT_IS.includes(file.version) &&
    typeof file.version === 'number' &&
    file.version < CURRENT_VERSION
  ) {
    const older = OLDER_VERSIONS[file.version];
    if (older === undefined) break;
    const wrong = schemaProblem(older.schema, file);
    if (wrong !== null) return wrong;
    try {
      file = older.step(file as never) as typeof file;
    } catch {
      return {
        place: '/timeZone',
        why: `its version ${String(file.version)} could not be brought to version ${CURRENT_VERSION}`,
      };
    }
  }
  if (READ_AS_IT_IS.includes(file.version)) return { value: file };
  const newer = typeof file.version === 'number' && file.version > CURRENT_VERSION;
  return {
    place: '/version',
    why: newer
      ? 'it was made by a newer version of the app: update the app, then import it again'
      : 'its version is not known',
  };
}

const validators = new Map<Schema, Validator>();
/** Making a validator takes longer than using it on a short record. */
function validatorFor(against: Schema): Validator {
  const made = validators.get(against) ?? new Validator(against, '2020-12', true);
  validators.set(against, made);
  return made;
}

/** The schema's complaint about a file of the present version, whose events are checked in pieces. */
function* fileProblem(value: unknown): Steps<Problem | null> {
  const { events } = value as { events?: unknown };
  if (!Array.isArray(events)) return schemaProblem(schema as Schema, value);
  if (yield* eachOfItsKind(value as object, events)) return null;
  if (events.length <= STEP) return schemaProblem(schema as Schema, value);
  if (events.length > schema.properties.events.maxItems)
    return { place: '/events', why: 'it holds more events than a record can' };
  for (let at = 0; at < events.length; at += STEP) {
    const piece = { ...(value as object), events: events.slice(at, at + STEP) };
    const wrong = schemaProblem(schema as Schema, piece);
    if (wrong !== null) return { ...wrong, place: placeAfter(wrong.place, at) };
  }
  return null;
}

const { properties, $defs, ...frame } = schema as Schema & { properties: Record<string, Schema> };
const { minItems, maxItems } = schema.properties.events;
const HEAD_SCHEMA: Schema = {
  ...frame,
  $defs,
  properties: { ...properties, events: { type: 'array', minItems, maxItems } },
};
const kindSchemas = new Map<string, Schema>();
function kindSchema(kind: string): Schema {
  const made = kindSchemas.get(kind) ?? { $id: schema.$id, $defs, $ref: `#/$defs/event-${kind}` };
  kindSchemas.set(kind, made);
  return made;
}

/**
 * Whether the file fits its schema, found without asking of each event whether it is of each of the twenty kinds:
 * a quarter of the time. What does not fit is looked at again as a whole, for the complaint.
 */
function* eachOfItsKind(value: object, events: readonly unknown[]): Steps<boolean> {
  if (!validatorFor(HEAD_SCHEMA).validate(value).valid) return false;
  for (const [at, event] of events.entries()) {
    const kind = (event as { kind?: unknown } | null)?.kind;
    if (typeof kind !== 'string' || !Object.hasOwn($defs!, `event-${kind}`)) return false;
    if (!validatorFor(kindSchema(kind)).validate(event).valid) return false;
    if (at % STEP === STEP - 1) yield (SCHEMA_SHARE * at) / events.length;
  }
  return true;
}

/** "/events/3/atMs" in a piece that begins with event 200 is "/events/203/atMs" in the file. */
const placeAfter = (place: string, first: number): string =>
  place.replace(/^\/events\/(\d+)/, (_, index: string) => `/events/${Number(index) + first}`);

/** The first, deepest complaint of the schema. */
function schemaProblem(against: Schema, value: unknown): Problem | null {
  const { valid, errors } = validatorFor(against).validate(value);
  if (valid) return null;
  const depth = (place: string) => place.split('/').length;
  const worst = errors.reduce((a, b) => (depth(b.instanceLocation) > depth(a.instanceLocation) ? b : a));
  return { place: worst.instanceLocation.replace(/^#/, '') || '/', why: plainly(worst.error) };
}

const plainly = (error: string) => error.replace(/\.$/, '').replace(/^./, (letter) => letter.toLowerCase());

/** Events in their order, each with its place; what was altered, is there twice or is missing is named. */
function inOrder(file: RecordFile): RecordFile | Problem {
  const { events } = file;
  if (events.every(({ lane }) => lane === undefined)) {
    const ordered = events.every((event, index) => event.seq === index);
    return ordered ? file : { ...file, events: [...events].sort((a, b) => a.seq - b.seq) };
  }
  const merged = mergeLanes(events);
  const [fault] = merged.faults;
  if (fault !== undefined) {
    const at = events.findIndex((event) => eventName(event) === fault.event);
    const why =
      fault.kind === 'changed'
        ? 'its content was changed after it was written'
        : `event ${fault.event} is there twice, with different content`;
    return { place: `/events/${at}`, why };
  }
  if (merged.events.length + merged.waiting.length < events.length) {
    const hashes = events.map(({ hash }) => hash);
    const at = hashes.findIndex((hash, index) => hashes.indexOf(hash) !== index);
    return { place: `/events/${at}`, why: `event ${eventName(events[at]!)} is there twice` };
  }
  const [waiting] = merged.waiting;
  if (waiting !== undefined) {
    const at = events.findIndex(({ hash }) => hash === waiting.hash);
    return { place: `/events/${at}`, why: 'an event that it follows is missing' };
  }
  return { ...file, events: merged.events };
}

/** Since version 2; a file brought up from an older version has none. */
const hasClosing = (value: unknown): boolean => (value as { version?: unknown }).version === 2;

/** A file of version 2 ends with what it held: where that says more or other than is here, its end was cut off. */
function closingDamage(file: RecordFile, closing: Closing | null): Problem | null {
  const place = '/closing';
  if (closing === null) return { place, why: 'its closing is missing: it may have been cut off' };
  if (closing.events !== file.events.length)
    return { place, why: `${closing.events} events were exported and ${file.events.length} are here` };
  return closing.head === rootOf(file.events)
    ? null
    : { place, why: 'its closing belongs to another state of the record' };
}

function headDamage(file: RecordFile): Problem | null {
  const { events, spans, timeZone } = file;
  try {
    timeOfDay(timeZone, 0);
  } catch {
    return { place: '/timeZone', why: `"${timeZone}" is no time zone known here` };
  }
  const gap = events.findIndex((event: LogEvent, index) => event.seq !== index);
  if (gap >= 0) return { place: `/events/${gap}`, why: `event number ${gap} is missing or there twice` };
  if (events[0]?.kind !== 'begin')
    return { place: '/events/0', why: 'the log does not begin with its beginning' };
  const standby = events[0].standby?.sinceMs ?? 0;
  if (standby > 0 || standby < -LONGEST_MS)
    return { place: '/events/0/standby/sinceMs', why: 'standby can not have begun then' };
  const far = spans.findIndex(({ startMs }) => startMs < 0 || startMs > events.at(-1)!.madeAtMs + DAY_MS);
  if (far >= 0) return { place: `/spans/${far}/startMs`, why: 'its clock begins outside of the record' };
  const back = spans.findIndex((span, index) => index > 0 && span.startMs < spans[index - 1]!.startMs);
  return back > 0 ? { place: `/spans/${back}`, why: 'its clock runs backwards' } : null;
}

function* chainDamage(file: RecordFile): Steps<Problem | null> {
  const steps = verifySteps(file);
  for (;;) {
    const step = steps.next();
    if (!step.done) yield SCHEMA_SHARE + (1 - SCHEMA_SHARE) * step.value;
    else if (step.value.kind === 'intact') return null;
    else return { place: `/events/${step.value.seq}`, why: step.value.why };
  }
}
