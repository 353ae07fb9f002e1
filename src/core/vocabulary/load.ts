import { faultText, unitFaults } from './unit-phrases.ts';
import { bareWords, plain, vocabularyErrors } from './validate.ts';
import { wordingsOf } from './wordings.ts';
import { ALL_SLOTS, choiceValues, isNumber, rangeOf, slotInfo } from '../slots.ts';
import type { Language, Pack } from './pack.ts';
import type { CodeInfo, DrugInfo, PhraseGroup, Ranges, UnitVocabulary, Vocabulary } from './vocabulary.ts';

/** Project limits against slips of the tongue, no clinical cut-offs. */
const RANGES: Ranges = {
  ...(Object.fromEntries(
    ALL_SLOTS.filter(isNumber).map((slot) => [slot, rangeOf(slot)]),
  ) as unknown as Ranges),
  pco2UnitUnclear: slotInfo('pco2Mmhg').number!.unitUnclear as [number, number],
  minutes: choiceValues('minute') as number[],
};

function addUnitWords(vocabulary: Vocabulary, unit: UnitVocabulary): Vocabulary {
  const allCodes = new Map(vocabulary.codes);
  const phrases = new Map(vocabulary.phrases);
  for (const own of unit.codes ?? []) {
    const { code, label, description = '' } = own;
    allCodes.set(code, {
      code,
      group: 'other',
      label,
      description,
      slots: [],
      phases: [],
      required: [],
      free: true,
    });
    phrases.set(code, [...(phrases.get(code) ?? []), { say: own.say }]);
  }
  for (const [code, say] of Object.entries(unit.phrases ?? {})) {
    phrases.set(code, [...(phrases.get(code) ?? []), { say }]);
  }
  return {
    ...vocabulary,
    codes: allCodes,
    phrases,
    roles: [...vocabulary.roles, ...(unit.roles ?? [])],
    drugs: [...vocabulary.drugs, ...(unit.drugs ?? [])],
  };
}

/**
 * The vocabulary of some packs in one language, without a unit's own words. Wordings are spelled out here, once.
 * Throws where the packs contradict each other.
 */
export function builtInVocabulary(packs: readonly Pack[], language: Language): Vocabulary {
  /** A wording that a later pack has, too, means what it means there. */
  const taken = new Map<string, string>();
  for (const { id, codes = [], phrases = [], ambiguous = [] } of packs)
    for (const { say } of [
      ...codes.flatMap((code) => code.say ?? []),
      ...phrases.flatMap((file) => Object.values(file).flat()),
      ...ambiguous,
    ])
      for (const wording of wordingsOf(say)) taken.set(bareWords(plain(wording)), id);
  for (const { id, drops = [] } of packs)
    for (const wording of drops) taken.set(bareWords(plain(wording)), id);
  const own = (pack: Pack, say: readonly string[]): string[] =>
    wordingsOf(say).filter((wording) => (taken.get(bareWords(plain(wording))) ?? pack.id) === pack.id);
  const spelledOut = <T extends { say: string[] }>(pack: Pack, lines: readonly T[]): T[] =>
    lines.map((line) => ({ ...line, say: own(pack, line.say) })).filter(({ say }) => say.length > 0);
  const codes = new Map<string, CodeInfo>();
  const phrases = new Map<string, PhraseGroup[]>();
  const add = (pack: Pack, code: string, groups: readonly PhraseGroup[]) =>
    phrases.set(code, [...(phrases.get(code) ?? []), ...spelledOut(pack, groups)]);
  for (const pack of packs) {
    for (const { say, ...raw } of pack.codes ?? []) {
      if (!codes.has(raw.code))
        codes.set(raw.code, { description: '', slots: [], phases: [], required: [], ...raw });
      if (say) add(pack, raw.code, say);
    }
    for (const [code, more] of Object.entries(pack.adds ?? {})) {
      const known = codes.get(code);
      if (known === undefined)
        throw new Error(`The pack ${pack.id} adds to "${code}", which no pack before it has.`);
      codes.set(code, {
        ...known,
        ...more,
        slots: [...new Set([...known.slots, ...(more.slots ?? [])])],
        values: { ...known.values, ...more.values },
      });
    }
    for (const file of pack.phrases ?? [])
      for (const [code, groups] of Object.entries(file)) add(pack, code, groups);
  }
  const all = <T>(of: (pack: Pack) => readonly T[] | undefined): T[] =>
    packs.flatMap((pack) => [...(of(pack) ?? [])]);
  return sound({
    codes,
    phrases,
    ambiguous: packs.flatMap((pack) => spelledOut(pack, pack.ambiguous ?? [])),
    commands: language.commands,
    roles: all((pack) => pack.roles),
    drugs: packs
      .flatMap((pack) => spelledOut(pack, pack.drugs ?? []))
      .map((drug) => {
        const patient = packs.find(({ drugPatients }) => drugPatients?.[drug.drug])?.drugPatients?.[
          drug.drug
        ];
        return patient === undefined ? drug : { ...drug, patient: patient as DrugInfo['patient'] };
      }),
    trade: new Set(all((pack) => pack.trade)),
    lookAlikes: {
      pairs: all((pack) => pack.lookAlikes?.pairs),
      opposites: all((pack) => pack.lookAlikes?.opposites),
    },
    ranges: RANGES,
  });
}

/**
 * The vocabulary with a unit's own words on top.
 * Throws one Error that lists every fault, so that a unit can mend its list in one go.
 */
export const withUnitWords = (builtIn: Vocabulary, unit: UnitVocabulary): Vocabulary =>
  sound(addUnitWords(builtIn, unit), builtIn, unit);

function sound(vocabulary: Vocabulary, builtIn?: Vocabulary, unit?: UnitVocabulary): Vocabulary {
  const forbidden = builtIn && unit ? unitFaults(unit, builtIn).map(faultText) : [];
  const errors = [...vocabularyErrors(vocabulary, builtIn), ...forbidden];
  if (errors.length > 0) {
    throw new Error(
      `The vocabulary was not loaded; nothing was changed. Mend these and try again: ${errors.join('; ')}.`,
    );
  }
  return vocabulary;
}
