import type { Entry } from '../entry.ts';
import type { EntryView, RecordView } from '../log/view.ts';
import { apgarConflicts } from './apgar.ts';
import type { CordGasFacts, GasSlot } from './cord-gas.ts';
import landmarks from './landmarks.json';
import { clockText, logged, roleInWords } from './logged.ts';
import type { Conflict } from './types.ts';

/** What the entries say against each other, other than sides and manoeuvre spans. Shown, never mended. */
export function conflicts(view: RecordView, gas: CordGasFacts): Conflict[] {
  return [
    ...changedApart(view),
    ...twice(view),
    ...outOfOrder(view),
    ...arrivalsBeforeCalls(view),
    ...twoValues(view),
    ...apgarConflicts(view),
    ...gasValues(view, gas),
  ];
}

const timesOf = (view: RecordView, entries: readonly EntryView[]) =>
  entries.map((e) => clockText(view, e.atMs)).join(' and ');

/** Two devices changed one entry without knowing of each other: what stands is one of the two, and nobody chose it. */
function changedApart(view: RecordView): Conflict[] {
  return view.entries.flatMap((entry) =>
    (entry.clashes ?? []).map(({ of, versions }): Conflict => {
      const made = versions.map(({ madeAtMs }) => clockText(view, madeAtMs)).join(' and ');
      return {
        id: `apart-${of}-${entry.entryId}`,
        kind: 'apart',
        sentence: `Devices changed the ${of} of the entry of ${clockText(view, entry.atMs)} without knowing of each other, at ${made}; nobody has said which change holds.`,
        entryIds: [entry.entryId],
      };
    }),
  );
}

function twice(view: RecordView): Conflict[] {
  return landmarks.once.flatMap(({ code, label }): Conflict[] => {
    const entries = logged(view, code);
    if (entries.length < 2) return [];
    const sentence = `${label} is recorded ${entries.length} times: ${timesOf(view, entries)}.`;
    return [{ id: `twice-${code}`, kind: 'twice', sentence, entryIds: entries.map((e) => e.entryId) }];
  });
}

const nameOf = (code: string) =>
  landmarks.once.find((landmark) => landmark.code === code)?.label.toLowerCase() ?? NAMES[code] ?? code;
const NAMES: Record<string, string> = {
  'head-retracts': 'head drew back',
  'dystocia-declared': 'dystocia declared',
  'baby-to-neonatal-team': 'baby to the neonatal team',
};

function outOfOrder(view: RecordView): Conflict[] {
  return landmarks.order.flatMap(({ first, then }) =>
    then.flatMap((code): Conflict[] => {
      const [earlier] = logged(view, first);
      const later = logged(view, code)[0];
      if (earlier === undefined || later === undefined || later.atMs >= earlier.atMs) return [];
      const told = (e: EntryView, named: string) => `${named} (${clockText(view, e.atMs)})`;
      return [
        {
          id: `order-${first}-${code}`,
          kind: 'order',
          sentence: `Times out of order: ${told(later, nameOf(code))} is timed before ${told(earlier, nameOf(first))}.`,
          entryIds: [earlier.entryId, later.entryId],
        },
      ];
    }),
  );
}

function arrivalsBeforeCalls(view: RecordView): Conflict[] {
  const found: Conflict[] = [];
  const [help] = logged(view, 'help-called');
  const allCalls = logged(view, 'role-called');
  const arrived = new Set<string>();
  for (const arrival of logged(view, 'role-arrived')) {
    const role = arrival.entry.role ?? '';
    const isFirst = !arrived.has(role);
    arrived.add(role);
    const calls = isFirst ? allCalls.filter((e) => (e.entry.role ?? '') === role) : [];
    const [call] = calls;
    for (const [before, what] of [
      [help, 'help was called'],
      [call, `the ${roleInWords(role)} was called`],
    ] as const) {
      if (before === undefined || arrival.atMs >= before.atMs) continue;
      found.push({
        id: `arrival-${arrival.entryId}-${before.entryId}`,
        kind: 'arrival',
        sentence: `The arrival of the ${roleInWords(role)} (${clockText(view, arrival.atMs)}) is timed before ${what} (${clockText(view, before.atMs)}).`,
        entryIds: [before.entryId, arrival.entryId],
      });
    }
  }
  return found;
}

const valueText = (value: unknown): string =>
  value === true ? 'yes' : value === false ? 'no' : String(value);

function twoValues(view: RecordView): Conflict[] {
  return landmarks.oneValue.flatMap(({ code, label, slot, unit }): Conflict[] => {
    const told = logged(view, code).filter((e) => e.entry[slot as keyof Entry] !== undefined);
    const values = new Set(told.map((e) => e.entry[slot as keyof Entry]));
    if (values.size < 2) return [];
    const readings = told.map(
      (e) => `${valueText(e.entry[slot as keyof Entry])}${unit} (${clockText(view, e.atMs)})`,
    );
    const sentence = `${label} is recorded in different ways: ${readings.join(' and ')}.`;
    return [{ id: `value-${code}`, kind: 'value', sentence, entryIds: told.map((e) => e.entryId) }];
  });
}

const GAS_NAMES: Record<GasSlot, string> = {
  ph: 'pH',
  pco2: 'pCO2 in kPa',
  pco2Mmhg: 'pCO2 in mmHg',
  baseExcess: 'base excess in mmol/L',
  lactate: 'lactate in mmol/L',
};

function gasValues(view: RecordView, gas: CordGasFacts): Conflict[] {
  return gas.samples.flatMap((sample) =>
    (Object.keys(sample.values) as GasSlot[]).flatMap((slot): Conflict[] => {
      const told = sample.values[slot]!;
      if (told.values.length < 2) return [];
      const readings = view.entries
        .filter((e) => told.entryIds.includes(e.entryId))
        .map((e) => `${e.entry[slot]} (${clockText(view, e.atMs)})`);
      return [
        {
          id: `gas-${sample.vessel}-${slot}`,
          kind: 'value',
          sentence: `Cord gas, ${sample.vessel}: ${GAS_NAMES[slot]} is recorded in different ways: ${readings.join(' and ')}.`,
          entryIds: told.entryIds,
        },
      ];
    }),
  );
}
