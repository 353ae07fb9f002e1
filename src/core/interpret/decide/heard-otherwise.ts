import type { Vocabulary } from '../../vocabulary/vocabulary.ts';
import { WORDS } from '../../vocabulary/words.ts';
import { readingDistance } from './critical.ts';
import { interpretReading } from '../interpret.ts';
import type { Heard, InterpretContext, Interpreted } from '../interpretation.ts';
import { normalise } from '../words/normalise.ts';
import thresholds from './thresholds.json';
import { asQuestion, meanOf } from './two-readings.ts';

const { loneWord, talk } = thresholds.heardOtherwise;

/**
 * What was accepted, though the untouched decoder is sure of something else, is a question: a lone word, said once or
 * over and over, of which it is fairly sure that it was another ("zavanelli" of "zulu"); and anything where it is as
 * sure of a sentence that means nothing here as the tuned decoder is of its own, which is tuned to be sure of call-outs
 * ("please to McRoberts" of "pleased to meet you"). Measured in models/reports/people-talking.txt.
 */
export function askIfHeardOtherwise(
  heard: Heard,
  meaning: Interpreted,
  context: InterpretContext,
  vocabulary: Vocabulary,
): Interpreted {
  if (meaning.outcome !== 'accept' || !heard.untouched) return meaning;
  const untouched = normalise(heard.untouched.text, WORDS);
  const otherMean = meanOf(heard.untouched.logProbabilities);
  const mean = meanOf(heard.tuned.logProbabilities);
  if (untouched.length === 0 || otherMean === undefined || mean === undefined) return meaning;
  const distance = readingDistance(normalise(heard.tuned.text, WORDS), untouched);
  const isLone = new Set(heard.tuned.text.toLowerCase().match(/[^\s.,!?]+/g)).size === 1;
  const otherWord =
    isLone &&
    meaning.confidence < loneWord.confidence &&
    otherMean > loneWord.otherMeanLogProbability &&
    distance > loneWord.distance;
  const isTalk = (): boolean =>
    distance > talk.distance &&
    otherMean > mean - talk.lessSure &&
    interpretReading(heard.untouched!.text, context, vocabulary).outcome === 'unrecognised';
  return otherWord || isTalk() ? asQuestion(meaning, undefined, meaning.confidence) : meaning;
}
