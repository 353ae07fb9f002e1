import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { importScenario } from '../../src/core/practice/scenario-file.ts';
import type { Entry } from '../../src/core/entry.ts';
import { loadVocabulary } from '../../src/packs/vocabulary.ts';
import { entryOf } from '../core/interpret/table.ts';

// The page is the specification: these tests hold the lines and the draft scenarios against its tables.
const vocabulary = loadVocabulary();

const read = (path: string): string => readFileSync(new URL(path, import.meta.url), 'utf8');
const page = read('../../src/packs/README.md');
const ticked = (text: string): string[] => [...text.matchAll(/`([^`]+)`/g)].map(([, word]) => word!);
const cellsOf = (head: string): string[][] =>
  page
    .split(`${head}\n`)
    .slice(1)
    .flatMap((part) => part.split('\n\n')[0]!.split('\n').slice(1))
    .map((row) => row.split('|').map((cell) => cell.trim()));

interface Code {
  patient: string;
  phases: string[];
  slots: string;
}
const codes = new Map<string, Code>();
for (const [, code, patient, phases, slots] of cellsOf('| code | patient | phases | slots and values |'))
  codes.set(ticked(code!)[0]!, {
    patient: patient!,
    phases: phases!.split(', ').filter(Boolean),
    slots: slots!,
  });

const ranges = cellsOf('| slot | of | unit | from | to |').map(([, slots, of, , from, to]) => ({
  slots: ticked(slots!),
  of: ticked(of!),
  from: Number(from),
  to: Number(to),
}));
const rangeOf = (code: string, slot: string) =>
  ranges.find((range) => range.slots.includes(slot) && (range.of.length === 0 || range.of.includes(code)));

const PROBLEMS = new Set(cellsOf('| problem | when |').map(([, problem]) => ticked(problem!)[0]!));
const OPEN_WORDS = new Set([
  'spoken',
  'dose',
  'who',
  'tests',
  'group',
  'drug',
  'unit',
  'role',
  'ratio',
  'grade',
]);

interface Line {
  place: string;
  text: string;
  outcome: string;
  entries: Entry[];
  extras: Record<string, string>;
}

const linesOf = (file: string): Line[] =>
  read(file)
    .split('\n')
    .map((row, index) => ({ row, place: `${file}:${index + 1}` }))
    .filter(({ row }) => row !== '' && !row.startsWith('#'))
    .map(({ row, place }) => {
      const [text = '', outcome = '', entries = '', extras = ''] = row.split('\t');
      return {
        place: `${place} ${text}`,
        text,
        outcome,
        entries: entries === '' ? [] : entries.split(' + ').map((notation) => entryOf(notation, vocabulary)),
        extras: Object.fromEntries(
          extras
            .split(' ')
            .filter(Boolean)
            .map((pair) => pair.split('=')),
        ),
      };
    });

const lines = [...linesOf('newborn.tsv'), ...linesOf('haemorrhage.tsv')];
const written = lines.flatMap((line) => line.entries.map((entry) => ({ line, entry })));

/** What is wrong with one entry by the page, in words; empty where nothing is. */
function faultsOf({ code, phase, unclear: _, ...slots }: Entry): string[] {
  const pack = codes.get(code);
  if (!pack)
    return vocabulary.codes.has(code) || page.includes(`\`${code}\``) ? [] : [`${code} stands on no page`];
  const faults: string[] = [];
  if (phase && !pack.phases.includes(phase)) faults.push(`${code} has no phase ${phase}`);
  for (const [slot, value] of Object.entries(slots)) {
    const range = rangeOf(code, slot);
    if (slot === 'patient') {
      if (!pack.patient.includes('open')) faults.push(`${code} fixes the patient`);
    } else if (slot !== 'baby' && slot !== 'spoken' && !ticked(pack.slots).includes(slot))
      faults.push(`${code} has no slot ${slot}`);
    else if (typeof value === 'number') {
      if (!range && slot !== 'amount') faults.push(`${code} ${slot} has no range`);
      if (range && (value < range.from || value > range.to))
        faults.push(`${code} ${slot}=${value} is out of range`);
    } else if (!OPEN_WORDS.has(slot)) {
      const allowed =
        pack.slots
          .split(`\`${slot}\`: `)[1]
          ?.match(/^[\w/-]+/)?.[0]
          .split('/') ?? [];
      if (!allowed.includes(String(value))) faults.push(`${code} ${slot} has no value ${String(value)}`);
    }
  }
  return faults;
}

describe('the lines of the packs', () => {
  it('has read the tables of the page', () => {
    expect(codes.size).toBeGreaterThan(40);
    expect(ranges.length).toBeGreaterThan(30);
    expect(PROBLEMS.size).toBe(9);
  });

  it('uses only codes, phases, slots, values and figures of the page', () => {
    expect(
      written.flatMap(({ line, entry }) => faultsOf(entry).map((fault) => `${line.place}: ${fault}`)),
    ).toEqual([]);
  });

  it('knows a fault when it meets one', () => {
    const faults = (notation: string) => faultsOf(entryOf(notation, vocabulary)).length;
    expect(faults('chest-movement start')).toBe(1);
    expect(faults('chest-movement patient=baby')).toBe(1);
    expect(faults('uterus state=hard')).toBe(1);
    expect(faults('heart-rate patient=baby rate=400')).toBe(1);
    expect(faults('heart-rate patient=baby colour=blue')).toBe(1);
    expect(faults('no-such-code')).toBe(1);
    expect(faults('heart-rate patient=baby rate=60')).toBe(0);
  });

  it('says no line twice', () => {
    expect(new Set(lines.map(({ text }) => text.toLowerCase())).size).toBe(lines.length);
  });

  it('asks with a problem of the page, and only then', () => {
    for (const { place, outcome, entries, extras } of lines) {
      if (outcome === 'ask') expect(PROBLEMS, place).toContain(extras['problem']);
      else expect(extras['problem'], place).toBeUndefined();
      if (outcome === 'unrecognised') expect(entries, place).toEqual([]);
      if (outcome === 'accept') expect(entries.length, place).toBeGreaterThan(0);
    }
  });

  it('accepts an open code only where the patient was said or fixed', () => {
    const missing = written
      .filter(({ line, entry }) => line.outcome === 'accept' && codes.get(entry.code)?.patient === 'open')
      .filter(({ entry }) => !('patient' in entry) && !('route' in entry && entry.route === 'umbilical'));
    expect(missing.map(({ line }) => line.place)).toEqual([]);
  });

  it('accepts a drug only where the patient was said, or the drug or its route fixes one', () => {
    const [mother, baby, open] = cellsOf('| patient | drugs |').map((row) => row[2]!);
    const given = written.flatMap(({ line, entry }) =>
      line.outcome === 'accept' && entry.drug !== undefined ? [{ ...entry, place: line.place }] : [],
    );
    expect(given.length).toBeGreaterThan(40);
    for (const { place, drug, ...entry } of given) {
      const fixed = [mother, baby].some((drugs) => drugs!.includes(drug!));
      expect(fixed || open!.includes(drug!), `${place}: the page lists the drug`).toBe(true);
      expect('patient' in entry, `${place}: says the patient`).toBe(
        !fixed && !('route' in entry && entry.route === 'umbilical'),
      );
    }
  });

  it('has at least 12 lines for every code of the two packs but four rare ones', () => {
    const count = (code: string) => written.filter(({ entry }) => entry.code === code).length;
    const few = [...codes.keys()]
      .filter(
        (code) =>
          !['bladder-emptied', 'resuscitation-stopped', 'needle-count', 'instrument-count'].includes(code),
      )
      .map((code) => `${code} ${count(code)}`)
      .filter((counted) => Number(counted.split(' ')[1]) < 12);
    expect(few).toEqual([]);
  });
});

describe('the draft scenarios', () => {
  const folder = new URL('../../src/packs/drafts/', import.meta.url);
  const files = readdirSync(folder).filter((file) => file.endsWith('.json'));

  it('there are two', () => expect(files).toHaveLength(2));

  for (const file of files)
    it(`${file} is told in order, and every call-out points to something true`, () => {
      const scenario = JSON.parse(readFileSync(new URL(file, folder), 'utf8'));
      // The importer knows the birth's codes only: the packs' codes stand in as one that it knows.
      const plain = {
        ...scenario,
        truth: scenario.truth.map((one: object) => ({ ...one, entry: { code: 'head-delivered' } })),
      };
      expect(importScenario(JSON.stringify(plain), vocabulary)).toMatchObject({ kind: 'ok' });
      const ids = new Set(scenario.truth.map(({ id }: { id: string }) => id));
      expect(ids.size).toBe(scenario.truth.length);
      const faults = scenario.truth.flatMap(({ entry }: { entry: Entry }) => faultsOf(entry));
      expect(faults).toEqual([]);
      const said = new Set(scenario.lines.flatMap(({ says = [] }: { says?: string[] }) => says));
      for (const id of said) expect(ids).toContain(id);
      for (const list of [scenario.truth, scenario.lines]) {
        const times = list.map(({ atMs }: { atMs: number }) => atMs);
        expect(times).toEqual([...times].sort((a, b) => a - b));
        expect(times.at(-1)).toBeLessThanOrEqual(scenario.lengthMs);
      }
    });
});
