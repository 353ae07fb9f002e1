import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { withSlots } from '../../src/core/record/record-schema.ts';
import {
  ALL_SLOTS,
  isChoice,
  isNumber,
  PROBLEMS,
  SHORT_ORDER,
  slotInfo,
  slotsOfProblem,
} from '../../src/core/slots.ts';
import { entryLabel } from '../../src/core/vocabulary/entry-label.ts';
import { loadVocabulary } from '../../src/packs/vocabulary.ts';

const vocabulary = loadVocabulary();
const codes = [...vocabulary.codes.values()];

describe('the slot schema', () => {
  it.each(ALL_SLOTS)('says in one way what %s may hold', (slot) => {
    const { about, name, shortName, values, numbers, yesNo, number, words, parts } = slotInfo(slot);
    expect([values, numbers, yesNo, number, words, parts].filter(Boolean)).toHaveLength(1);
    expect(about && name && shortName).toBeTruthy();
    if (!number) return;
    const [low, high, lowest, highest] = [...number.range, ...number.file] as [
      number,
      number,
      number,
      number,
    ];
    expect(lowest <= low && low < high && high <= highest).toBe(true);
  });

  it('names only slots that there are', () => {
    const named = ALL_SLOTS.flatMap((slot) => {
      const { insteadOf = [], shortAfter, text = '', shortText = '' } = slotInfo(slot);
      const inText = [...`${text}${shortText}`.matchAll(/\{(\w+)\}/g)].map(([, found]) => found!);
      return [...insteadOf, ...(shortAfter ? [shortAfter] : []), ...inText.filter((one) => one !== 'value')];
    });
    const all: readonly string[] = [...named, ...PROBLEMS.flatMap(slotsOfProblem)];
    expect(all.filter((slot) => !(ALL_SLOTS as string[]).includes(slot))).toEqual([]);
    expect([...SHORT_ORDER].sort()).toEqual([...ALL_SLOTS].sort());
  });

  it('maps slots to parts of an Observation that there are', () => {
    const parts = ['value', 'unit', 'component', 'method', 'bodySite', 'specimen', 'subject', undefined];
    expect(ALL_SLOTS.filter((slot) => !parts.includes(slotInfo(slot).fhir))).toEqual([]);
  });

  // Rules 6 to 12 of what the record may hold: a slot that the schema lacks could not be kept.
  it.each(['hand', 'basis', 'amount', 'unit', 'route', 'patient', 'baby'] as const)('holds %s', (slot) =>
    expect(ALL_SLOTS).toContain(slot),
  );

  it('is what the schema of an exported record says', () => {
    const file = JSON.parse(
      readFileSync(`${import.meta.dirname}/../../static/utterlog-record.schema.json`, 'utf8'),
    );
    expect(file).toEqual(withSlots(file));
  });
});

describe('codes', () => {
  it('take only slots and values of the schema', () => {
    const wrong = codes.flatMap(({ code, slots, required, values = {} }) => [
      ...[...slots, ...required].filter((slot) => !ALL_SLOTS.includes(slot)).map((slot) => `${code} ${slot}`),
      ...Object.entries(values).flatMap(([slot, own]) =>
        Object.keys(own).filter((value) => !Object.keys(slotInfo(slot).values ?? {}).includes(value)),
      ),
    ]);
    expect(wrong).toEqual([]);
  });

  it('require only what they take', () =>
    expect(codes.filter(({ slots, required }) => !required.every((slot) => slots.includes(slot)))).toEqual(
      [],
    ));

  it('tell every slot that they take in their label', () => {
    const silent = codes.flatMap(({ code, slots }) =>
      slots
        .filter((slot) => slot !== 'parts')
        .filter((slot) => {
          const value = isNumber(slot)
            ? 7
            : isChoice(slot)
              ? Object.keys(slotInfo(slot).values ?? { '5': 5 })[0]!
              : 'words';
          return entryLabel({ code, [slot]: value }, vocabulary) === entryLabel({ code }, vocabulary);
        })
        .map((slot) => `${code} ${slot}`),
    );
    expect(silent).toEqual([]);
  });

  it('tell a dose in the words that were said, and its parts only where there are none', () => {
    const given = { code: 'drug-given', drug: 'oxytocin', amount: 10, unit: '[iU]', route: 'im' } as const;
    expect(entryLabel(given, vocabulary)).toBe('Drug given: oxytocin, 10 units, i.m.');
    expect(entryLabel({ ...given, dose: 'ten units i.m.' }, vocabulary)).toBe(
      'Drug given: oxytocin, ten units i.m.',
    );
  });
});
