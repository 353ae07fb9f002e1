import { deriveFacts } from '../core/facts/derive.ts';
import { logged } from '../core/facts/logged.ts';
import { isActOfAMoment, isLasting } from '../core/facts/manoeuvres.ts';
import type { Facts } from '../core/facts/derive.ts';
import { spanValue } from '../core/facts/intervals.ts';
import type { Interval } from '../core/facts/types.ts';
import { dateOf, wallMsAt } from '../core/log/clock.ts';
import type { RecordView, UtteranceView } from '../core/log/view.ts';
import type { Vocabulary } from '../core/vocabulary/vocabulary.ts';
import type { Mode } from './answers.ts';
import { allowedBy, checkRows, INTERVALS, type Allowed } from './allowed.ts';
import type { Truth } from './truth.ts';
import type { ActRow, BirthRow, FieldRow, FlatRows, HearingRow, IntervalRow } from './tables.ts';

/** A record, and what the tables need beside it. */
export interface FlattenInput {
  recordId: string;
  view: RecordView;
  /** What happened in a drill against its record, where that is at hand (truth.ts). */
  truth?: Truth;
  unit: string;
}

/** Turns records into rows of the flat tables; every row was held against the lists of allowed values. */
export type Flatten = (input: FlattenInput) => FlatRows;

/**
 * @param options.vocabulary the one that ships with the app: codes and roles of a unit's own are not named.
 * @param options.pseudonym of pseudonymiser.
 * @param options.units names that the person who runs the audit gave.
 */
export function flattener(options: {
  vocabulary: Vocabulary;
  pseudonym: (recordId: string) => string;
  units: readonly string[];
}): Flatten {
  const allowed = allowedBy(options.vocabulary, options.units);
  return ({ recordId, view, truth, unit }) => {
    const record = options.pseudonym(recordId);
    const facts = deriveFacts(view);
    const rows: FlatRows = {
      births: [
        {
          ...birthRow(record, unit, view, facts),
          ...truthCells(view.mode === 'practice' ? truth : undefined),
        },
      ],
      acts: actRows(record, view, allowed),
      intervals: [
        ...intervalRows(record, view.mode, facts, allowed),
        ...manoeuvreRows(record, view, facts, allowed),
      ],
      fields: fieldRows(record, view.mode, facts),
      hearing: hearingRows(record, unit, view),
    };
    checkRows(rows, allowed);
    return rows;
  };
}

/** "2026-03" in which the record began, by its own time zone. */
export const monthOf = (view: RecordView): string =>
  dateOf(view.timeZone, wallMsAt(view.spans, view.spans[0]!.startMs)).slice(0, 7);

const tenth = (ms: number): number => Math.round(ms / 100) / 10;

type TruthCells = Pick<
  BirthRow,
  | 'drill_way'
  | 'truth_events'
  | 'truth_recorded'
  | 'truth_right'
  | 'truth_in_time'
  | 'truth_error_s'
  | 'truth_head_to_body_error_s'
>;

function birthRow(
  record: string,
  unit: string,
  view: RecordView,
  facts: Facts,
): Omit<BirthRow, keyof TruthCells> {
  const main = facts.intervals.find(({ id }) => id === 'head-to-body')!;
  return {
    record,
    unit,
    month: monthOf(view),
    mode: view.mode,
    finished: view.finishedAtMs !== null,
    signed: view.signatures.length > 0,
    head_to_body_s: single(main.value),
    head_to_body_state: main.value.kind,
    head_to_body_estimated: main.estimated,
    manoeuvres: facts.manoeuvres.filter((span) => isLasting(span.code) || isActOfAMoment(span)).length,
    gases: gasesOf(facts),
    blood_loss: bloodLossOf(view),
    fields_asked: facts.completeness.asked,
    fields_recorded: facts.completeness.recorded,
    conflicts: facts.conflicts.length,
  };
}

function gasesOf({ cordGas }: Facts): BirthRow['gases'] {
  const withPh = cordGas.samples.filter(({ values }) => values.ph !== undefined).map(({ vessel }) => vessel);
  const named = withPh.filter((vessel) => vessel !== 'not stated').length;
  if (named > 0) return named > 1 ? 'two vessels' : 'one vessel';
  return withPh.length > 0 ? 'vessel not stated' : 'none';
}

function bloodLossOf(view: RecordView): BirthRow['blood_loss'] {
  const told = logged(view, 'blood-loss').filter(({ entry }) => entry.millilitres !== undefined);
  if (told.length === 0) return 'not recorded';
  const by = (...methods: string[]) => told.some(({ entry }) => methods.includes(entry.method ?? ''));
  if (by('measured', 'weighed')) return 'measured';
  return by('estimated') ? 'estimated' : 'method not stated';
}

const truthCells = (truth: Truth | undefined): TruthCells => ({
  drill_way: truth?.way ?? null,
  truth_events: truth?.events ?? null,
  truth_recorded: truth?.recorded ?? null,
  truth_right: truth?.right ?? null,
  truth_in_time: truth?.inTime ?? null,
  truth_error_s: truth === undefined || truth.medianErrorMs === null ? null : tenth(truth.medianErrorMs),
  truth_head_to_body_error_s:
    truth === undefined || truth.headToBodyErrorMs === null ? null : tenth(truth.headToBodyErrorMs),
});

function actRows(record: string, view: RecordView, allowed: Allowed): ActRow[] {
  const beginMs = view.spans[0]!.startMs;
  return logged(view).map(({ entry, atMs, timing, by, addedLater, changes }, index) => ({
    record,
    number: index + 1,
    kind: allowed.group(entry.code),
    code: allowed.code(entry.code),
    phase: entry.phase ?? null,
    role: allowed.role(entry.role),
    at_s: tenth(atMs - beginMs),
    timing,
    source: by.kind,
    added_later: addedLater,
    changed: changes.some(({ kind }) => kind === 'replace' || kind === 'shift'),
  }));
}

const KNOWN_INTERVALS = new Set(INTERVALS.map(({ id }) => id));

function intervalRows(record: string, mode: Mode, { intervals }: Facts, allowed: Allowed): IntervalRow[] {
  return intervals.flatMap((interval) => {
    const arrival = /^(help|called)-to-(.*?)(?:-(\d+))?$/.exec(interval.id);
    if (arrival !== null) {
      const [, from, role, number] = arrival;
      const role_ = allowed.role(role);
      if (role_ === null) return [];
      const row = plainRow(record, mode, `${from}-to-arrival`, interval);
      return [{ ...row, number: from === 'help' ? Number(number ?? 1) : 1, role: role_ }];
    }
    return KNOWN_INTERVALS.has(interval.id) ? [plainRow(record, mode, interval.id, interval)] : [];
  });
}

/** Of two figures none is taken: the state then says `known`, the length is left out. */
const single = (value: Interval['value']): number | null =>
  value.kind === 'known' && value.byDeviceClockSeconds === undefined ? value.seconds : null;

const plainRow = (
  record: string,
  mode: Mode,
  measure: string,
  { value, estimated }: Interval,
): IntervalRow => ({
  record,
  mode,
  measure,
  number: 1,
  code: null,
  role: null,
  seconds: single(value),
  state: value.kind,
  estimated,
  end_by: null,
  outcome: null,
  act: null,
});

function manoeuvreRows(record: string, view: RecordView, facts: Facts, allowed: Allowed): IntervalRow[] {
  return facts.manoeuvres.map((span) => {
    const value = spanValue(view, span);
    return {
      record,
      mode: view.mode,
      measure: 'manoeuvre',
      number: span.number,
      code: allowed.code(span.code),
      role: null,
      seconds: single(value),
      state: value.kind,
      estimated: span.estimated,
      end_by: span.end.kind,
      outcome: span.outcome ?? (span.noEffect.length > 0 ? 'no effect' : null),
      act: isLasting(span.code) ? 'lasting' : isActOfAMoment(span) ? 'moment' : 'hand',
    };
  });
}

function fieldRows(record: string, mode: Mode, { completeness }: Facts): FieldRow[] {
  return completeness.groups.flatMap(({ id, fields }) =>
    fields.map(({ field, state }) => ({ record, mode, field: field.id, kind: id, state })),
  );
}

/** Only what was spoken: a typed call-out says nothing of hearing. */
function hearingRows(record: string, unit: string, view: RecordView): HearingRow[] {
  const month = monthOf(view);
  const entries = new Map(view.entries.map((entry) => [entry.entryId, entry]));
  const questions = new Map(view.questions.map((question) => [question.questionId, question]));
  const resultOf = (utterance: UtteranceView): HearingRow['result'] => {
    const made = utterance.entryIds.flatMap((id) => entries.get(id) ?? []);
    switch (utterance.outcome) {
      case 'command':
        return 'command';
      case 'unrecognised':
        return made.length > 0 ? 'unheard, entered by a person' : 'unheard';
      case 'ask': {
        const state = questions.get(utterance.questionId ?? '')?.state;
        if (state === 'confirmed') return 'asked and confirmed';
        return state === 'rejected' ? 'asked and refused' : 'asked, unanswered';
      }
      case 'accept':
        return made.some(({ changes }) => changes.length > 0) ? 'mended' : 'stands';
    }
  };
  return view.utterances
    .filter(({ typedBy }) => typedBy === undefined)
    .map((utterance, index) => ({
      record,
      mode: view.mode,
      unit,
      month,
      number: index + 1,
      outcome: utterance.outcome,
      result: resultOf(utterance),
      listened_again: utterance.secondListening !== undefined,
    }));
}
