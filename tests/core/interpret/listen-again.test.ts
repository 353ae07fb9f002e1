import { describe, expect, it } from 'vitest';
import type { Entry } from '../../../src/core/entry.ts';
import type { Heard, Interpreted } from '../../../src/core/interpret/interpretation.ts';
import { interpretListened, weighListenings } from '../../../src/core/interpret/decide/listen-again.ts';
import thresholds from '../../../src/core/interpret/decide/thresholds.json';
import { loadVocabulary } from '../../../src/packs/vocabulary.ts';

const HEAD: Entry = { code: 'head-delivered' };
const LEFT: Entry = { code: 'suprapubic-pressure', side: 'left' };
const RIGHT: Entry = { code: 'suprapubic-pressure', side: 'right' };
const accept = (entries: Entry[], more: object = {}): Interpreted => ({
  outcome: 'accept',
  entries,
  confidence: 0.8,
  ...more,
});
const ask = (entries: Entry[], more: object = {}): Interpreted => ({
  outcome: 'ask',
  entries,
  problem: 'unclear',
  confidence: 0.5,
  ...more,
});
const command = (code: 'undo' | 'correct', entries: Entry[] = []): Interpreted => ({
  outcome: 'command',
  entries,
  command: { code },
  confidence: 1,
});
const NOTHING: Interpreted = { outcome: 'unrecognised', entries: [], confidence: 0 };

describe('what the other decoder is sure that it was not', () => {
  const vocabulary = loadVocabulary();
  const heard = (tuned: string, sureness: number, untouched: string, otherSureness = -0.6): Heard => ({
    tuned: { text: tuned, logProbabilities: [sureness, sureness] },
    untouched: { text: untouched, logProbabilities: [otherSureness, otherSureness] },
    doubts: [],
  });
  const of = (first: Heard, ...again: Heard[]) =>
    interpretListened(first, again, { asking: false }, vocabulary).meaning;
  const zulu = heard('zavanelli', -0.4, 'Zulu');

  it('a lone word, hardly sure, is a question, and the same heard again does not settle it', () => {
    expect(of(zulu)).toMatchObject({ outcome: 'ask', entries: [{ code: 'zavanelli' }] });
    expect(of(zulu, zulu, zulu).outcome).toBe('ask');
    expect(of(heard('push push push', -0.6, 'First, first, first, first.')).outcome).toBe('ask');
  });

  it('a lone word stands where it is surer, where the other is unsure or near, or where more was said', () => {
    expect(of(heard('zavanelli', -0.05, 'Zulu')).outcome).toBe('accept');
    expect(of(heard('zavanelli', -0.4, 'Zulu', -1.5)).outcome).toBe('accept');
    expect(of(heard('zavanelli', -0.4, 'Savanelly')).outcome).toBe('accept');
    expect(of(heard('zavanelli manoeuvre', -0.4, 'Zulu man.')).outcome).toBe('accept');
  });

  it('a lone word is settled by a listening that hears it surely', () => {
    expect(of(zulu, heard('zavanelli', -0.05, 'Savanelly.'))).toMatchObject({ outcome: 'accept' });
  });

  it('a sentence of which the other decoder is as sure that it was talk is a question too', () => {
    const meet = 'Pleased to meet you.';
    expect(of(heard('please to mcroberts', -0.6, meet, -0.3)).outcome).toBe('ask');
    expect(of(heard('please to mcroberts', -0.2, meet, -0.6)).outcome).toBe('accept');
    expect(of(heard('mcroberts please', -0.2, 'McRoberts, please.', -0.1)).outcome).toBe('accept');
  });
});

describe('two listenings to the same sound', () => {
  it.each([
    ['an accepted first', accept([LEFT]), accept([RIGHT])],
    ['a command', command('undo'), accept([HEAD])],
    ['a question where the second recognises nothing', ask([HEAD]), NOTHING],
    ['a question where the second is one too', ask([HEAD]), ask([LEFT])],
    ['a question where the second is a command', ask([HEAD]), command('correct', [HEAD])],
    ['nothing, where the second asks', NOTHING, ask([HEAD])],
    ['nothing, where the second is a command', NOTHING, command('undo')],
    ['nothing, twice', NOTHING, NOTHING],
    ['a question whose time was unclear', ask([HEAD], { problem: 'time-unclear' }), accept([HEAD])],
    ['a question that lacks a side', ask([HEAD], { problem: 'side-missing' }), accept([HEAD])],
    ['a question with another time', ask([HEAD], { when: { agoSeconds: 60 } }), accept([HEAD])],
    ['a question, where the second is hardly surer', ask([HEAD]), accept([HEAD], { confidence: 0.6 })],
    ['what would correct an entry', ask([HEAD], { command: { code: 'correct' } }), accept([HEAD])],
  ])('%s stands', (_what, first, second) =>
    expect(weighListenings(first, second)).toEqual({ meaning: first }),
  );

  it('settle a question with the very same entries and time, a little less surely', () => {
    const when = { when: { agoSeconds: 60 } };
    const { meaning, secondListening } = weighListenings(ask([LEFT], when), accept([LEFT], when));
    expect(secondListening).toBe('confirmed');
    expect(meaning).toMatchObject({ outcome: 'accept', entries: [LEFT], ...when });
    expect(meaning.confidence).toBeLessThan(0.8);
    expect(meaning.confidence).toBeGreaterThan(0.6);
  });

  it('settle what was marked unclear in a line of several', () => {
    const { meaning } = weighListenings(ask([HEAD, { ...LEFT, unclear: true }]), accept([HEAD, LEFT]));
    expect(meaning).toMatchObject({ outcome: 'accept', entries: [HEAD, LEFT] });
  });

  it('never settle with part of the entries, or with more', () => {
    for (const [one, other] of [
      [[HEAD, LEFT], [HEAD]],
      [[HEAD], [HEAD, LEFT]],
    ])
      expect(weighListenings(ask(one!), accept(other!)).meaning).toMatchObject({
        outcome: 'ask',
        entries: one,
      });
  });

  it('give a question one more answer', () => {
    const { meaning, secondListening } = weighListenings(
      ask([LEFT], { alternatives: [{ entries: [HEAD] }] }),
      accept([RIGHT]),
    );
    expect(secondListening).toBe('alternative');
    expect(meaning).toEqual(ask([LEFT], { alternatives: [{ entries: [RIGHT] }, { entries: [HEAD] }] }));
  });

  it('give no answer that the question has already', () => {
    const first = ask([LEFT], { alternatives: [{ entries: [RIGHT] }] });
    expect(weighListenings(first, accept([RIGHT]))).toEqual({ meaning: first });
  });

  it('ask about what only the second recognised, never log it', () => {
    const when = { when: { clock: '14:32' } };
    expect(weighListenings(NOTHING, accept([HEAD], when))).toEqual({
      meaning: ask([HEAD], { ...when, confidence: 0.4 }),
      secondListening: 'found',
    });
  });
});

describe('the readings that belong to the outcome', () => {
  const vocabulary = loadVocabulary();
  const both = (tuned: string, untouched = tuned): Heard => ({
    tuned: { text: tuned },
    untouched: { text: untouched },
  });
  const listened = (first: Heard, ...again: Heard[]) =>
    interpretListened(first, again, { asking: true }, vocabulary);

  it('are those of the second where it confirms or finds', () => {
    const unsure = both('suprapubic pressure from the right', 'suprapubic pressure from the left');
    const sure = both('suprapubic pressure from the right');
    expect(listened(unsure, sure)).toMatchObject({
      heard: sure,
      secondListening: 'confirmed',
      meaning: { outcome: 'accept', entries: [RIGHT] },
    });
    const found = both('perineum inspected');
    expect(listened(both('preparing the mail'), found)).toMatchObject({
      heard: found,
      secondListening: 'found',
      meaning: { outcome: 'ask' },
    });
  });

  it('are those of the first where it stands, or where there was no second', () => {
    const lost = both('preparing the mail');
    expect(listened(lost, both('yes'))).toEqual({ heard: lost, meaning: NOTHING, more: true });
    expect(listened(lost)).toEqual({ heard: lost, meaning: NOTHING, more: true });
  });

  it('are those of the first where the second only adds an answer', () => {
    const unsure = both('suprapubic pressure from the right', 'suprapubic pressure from the left');
    const { heard, secondListening, meaning } = listened(unsure, both('head out'));
    expect(heard).toBe(unsure);
    expect(secondListening).toBe('alternative');
    expect(meaning).toMatchObject({
      outcome: 'ask',
      alternatives: expect.arrayContaining([{ entries: [HEAD] }]),
    });
  });

  describe('and a third listening', () => {
    const unsure = both('suprapubic pressure from the right', 'suprapubic pressure from the left');
    const sure = both('suprapubic pressure from the right');
    const lost = both('preparing the mail');
    const found = both('perineum inspected');

    it('settles what is a question still', () =>
      expect(listened(unsure, unsure, sure)).toMatchObject({
        heard: sure,
        secondListening: 'confirmed',
        meaning: { outcome: 'accept', entries: [RIGHT] },
      }));

    it('logs what the second found only where it hears the very same', () => {
      const third = both('perineum inspected');
      const agreed = listened(lost, found, third);
      expect(agreed).toMatchObject({ secondListening: 'confirmed', meaning: { outcome: 'accept' } });
      expect(agreed.heard).toBe(third);
      const differing = listened(lost, found, both('head out'));
      expect(differing).toMatchObject({
        secondListening: 'found',
        meaning: { outcome: 'ask', alternatives: [{ entries: [HEAD] }] },
      });
      expect(differing.heard).toBe(found);
    });

    it('is not asked where the second was clear and said something else: a person settles that', () => {
      const two = listened(unsure, both('head out'));
      expect(two.more).toBe(false);
      expect(listened(unsure, both('head out'), sure)).toEqual(two);
    });

    it('is not asked where the second settled it, nor a fourth about a question', () => {
      expect(listened(unsure, sure).more).toBe(false);
      expect(listened(sure).more).toBe(false);
      const asked = listened(unsure, unsure, unsure);
      expect(asked.more).toBe(false);
      expect(listened(unsure, unsure, unsure, sure)).toEqual(asked);
    });
  });

  describe('what is not recognised', () => {
    const lost = both('preparing the mail');
    const found = both('perineum inspected');
    const agreed = both('perineum inspected now');

    it('is worth every listening that there is, and stays unrecognised where none hears anything', () =>
      expect(listened(lost, lost, lost, lost, lost)).toEqual({ heard: lost, meaning: NOTHING, more: true }));

    it('becomes a question by the first that understands it, however late', () => {
      const late = listened(lost, lost, lost, found);
      expect(late).toMatchObject({ heard: found, secondListening: 'found', more: true });
      expect(late.meaning).toMatchObject({ outcome: 'ask', problem: 'unclear' });
    });

    it('is logged where a later one says the very same, with the readings of that one', () => {
      const settled = listened(lost, lost, found, lost, agreed);
      expect(settled).toMatchObject({ heard: agreed, secondListening: 'confirmed', more: false });
      expect(settled.meaning).toMatchObject({
        outcome: 'accept',
        entries: [{ code: 'perineum-inspected' }],
      });
    });

    it('stays a question, with both answers, where a later one says something else', () => {
      const differing = listened(lost, lost, found, both('head out'), agreed);
      expect(differing).toMatchObject({ heard: found, secondListening: 'found', more: false });
      expect(differing.meaning).toMatchObject({ outcome: 'ask', alternatives: [{ entries: [HEAD] }] });
    });

    it('never becomes a command', () =>
      expect(listened(lost, both('undo'), both('undo')).meaning).toEqual(NOTHING));
  });

  describe('what is accepted less surely', () => {
    /** Log-probabilities that leave the confidence above what is asked about and below what is sure. */
    const weakly = (text: string): Heard => ({
      tuned: { text, logProbabilities: text.split(' ').map(() => -0.8) },
      untouched: { text },
    });
    const weak = weakly('suprapubic pressure from the right');
    const meant = listened(weak).meaning;
    const lost = both('preparing the mail');

    it('is worth listening to again', () => {
      expect(meant).toMatchObject({ outcome: 'accept', entries: [RIGHT] });
      expect(meant.confidence).toBeLessThan(thresholds.again.sureFrom);
      expect(listened(weak).more).toBe(true);
    });

    it('stands as it is where one other listening hears the same', () => {
      const same = both('suprapubic pressure from the right');
      expect(listened(weak, same)).toEqual({ meaning: meant, heard: weak, more: false });
      expect(listened(weak, lost, same)).toEqual({ meaning: meant, heard: weak, more: false });
    });

    it('stands where there was no time for two others', () =>
      expect(listened(weak, lost)).toEqual({ meaning: meant, heard: weak, more: true }));

    it('becomes a question where neither hears the same, with what they heard as answers', () => {
      const doubted = listened(weak, both('suprapubic pressure from the left'), both('head out'));
      expect(doubted).toMatchObject({
        heard: weak,
        secondListening: 'doubted',
        more: false,
        meaning: { outcome: 'ask', problem: 'unclear', entries: [RIGHT] },
      });
      expect(doubted.meaning).toHaveProperty('alternatives', [{ entries: [LEFT] }, { entries: [HEAD] }]);
      expect(listened(weak, lost, lost).meaning).toMatchObject({ outcome: 'ask', entries: [RIGHT] });
    });

    it('is asked for its time where only that differs', () => {
      const late = both('suprapubic pressure from the right two minutes ago');
      expect(listened(weak, lost, late).meaning).toMatchObject({
        outcome: 'ask',
        problem: 'time-unclear',
        entries: [RIGHT],
      });
    });
  });
});

it('works out each listening once, however often the utterance is weighed', () => {
  const vocabulary = loadVocabulary();
  let reads = 0;
  const counted = (text: string): Heard => ({
    get tuned() {
      reads++;
      return { text, logProbabilities: [-3] };
    },
    untouched: { text, logProbabilities: [-3] },
  });
  const all = ['where is', 'wear it', 'were is', 'where his', 'wears', 'wear his', 'where'].map(counted);
  const [first, ...again] = all;
  const weigh = (count: number): void =>
    void interpretListened(first!, again.slice(0, count), { asking: false }, vocabulary);
  for (let count = 0; count <= again.length; count++) weigh(count);
  const once = reads;
  expect(once).toBeGreaterThan(0);
  for (let count = 0; count <= again.length; count++) weigh(count);
  expect(reads).toBe(once);
});
