import { WORDS } from '../vocabulary/words.ts';
import { readingDistance } from './critical.ts';
import type { Heard, Interpreted } from './interpretation.ts';
import { normalise } from './normalise.ts';
import thresholds from './thresholds.json';
import { asQuestion, meanOf } from './two-readings.ts';

const { confidence, distance, otherMeanLogProbability } = thresholds.loneWord;

/**
 * A lone word, said once or over and over, that was accepted not quite surely is a question where the untouched decoder is fairly sure of something
 * that sounds otherwise: "zavanelli" of "zulu". Longer call-outs hold each other up; measured in
 * models/reports/people-talking.txt.
 */
export function askIfHeardOtherwise(heard: Heard, meaning: Interpreted): Interpreted {
  if (meaning.outcome !== 'accept' || meaning.confidence >= confidence || !heard.untouched) return meaning;
  if (new Set(heard.tuned.text.toLowerCase().match(/[^\s.,!?]+/g)).size !== 1) return meaning;
  const tuned = normalise(heard.tuned.text, WORDS);
  const untouched = normalise(heard.untouched.text, WORDS);
  const otherMean = meanOf(heard.untouched.logProbabilities);
  if (untouched.length === 0 || otherMean === undefined) return meaning;
  const otherwise = otherMean > otherMeanLogProbability && readingDistance(tuned, untouched) > distance;
  return otherwise ? asQuestion(meaning, undefined, meaning.confidence) : meaning;
}
