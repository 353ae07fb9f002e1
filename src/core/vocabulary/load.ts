import ambiguous from './ambiguous.json';
import codes from './codes.json';
import commands from './commands.json';
import drugs from './drugs.json';
import lookAlikes from './lookalikes.json';
import baby from './phrases/baby.json';
import birth from './phrases/birth.json';
import communication from './phrases/communication.json';
import findings from './phrases/findings.json';
import manoeuvres from './phrases/manoeuvres.json';
import mother from './phrases/mother.json';
import pushing from './phrases/pushing.json';
import team from './phrases/team.json';
import roles from './roles.json';
import { vocabularyErrors } from './validate.ts';
import { wordingsOf } from './wordings.ts';
import { ALL_SLOTS, choiceValues, isNumber, rangeOf, slotInfo } from '../slots.ts';
import type { CodeInfo, PhraseGroup, Ranges, UnitVocabulary, Vocabulary } from './vocabulary.ts';

type RawCode = Pick<CodeInfo, 'code' | 'group' | 'label'> &
  Partial<Omit<CodeInfo, 'code' | 'group' | 'label' | 'free'>>;

const PHRASE_FILES = [birth, findings, team, manoeuvres, pushing, baby, mother, communication];

function builtInCodes(): Map<string, CodeInfo> {
  return new Map(
    (codes as RawCode[]).map((raw) => [
      raw.code,
      { description: '', slots: [], phases: [], required: [], ...raw },
    ]),
  );
}

/** Spelled out once: a list is loaded anew with every change of a unit's words. */
const BUILT_IN_PHRASES: ReadonlyMap<string, PhraseGroup[]> = new Map(
  PHRASE_FILES.flatMap((file) => Object.entries(file) as [string, PhraseGroup[]][]).map(([code, groups]) => [
    code,
    groups.map((group) => ({ ...group, say: wordingsOf(group.say) })),
  ]),
);

const BUILT_IN_AMBIGUOUS = (ambiguous as Vocabulary['ambiguous']).map((item) => ({
  ...item,
  say: wordingsOf(item.say),
}));

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
 * The whole vocabulary: what ships with the app and, on top, a unit's own words.
 * Throws one Error that lists every fault, so that a unit can mend its list in one go.
 */
export function loadVocabulary(unit?: UnitVocabulary): Vocabulary {
  const builtIn: Vocabulary = {
    codes: builtInCodes(),
    phrases: new Map(BUILT_IN_PHRASES),
    ambiguous: BUILT_IN_AMBIGUOUS,
    commands: commands as Vocabulary['commands'],
    roles,
    drugs,
    lookAlikes: lookAlikes as unknown as Vocabulary['lookAlikes'],
    ranges: RANGES,
  };
  const vocabulary = unit ? addUnitWords(builtIn, unit) : builtIn;
  const errors = vocabularyErrors(vocabulary, unit ? builtIn : undefined);
  if (errors.length > 0) {
    throw new Error(
      `The vocabulary was not loaded; nothing was changed. Mend these and try again: ${errors.join('; ')}.`,
    );
  }
  return vocabulary;
}
