import type { Entry } from '../core/entry.ts';
import { sealEvents } from '../core/log/chain.ts';
import { isoWithOffset } from '../core/log/clock.ts';
import type { Author, EventBody, RecordFile, Timing } from '../core/log/events.ts';
import { createRecordFile } from '../core/log/new-record.ts';
import type { Drill, DrillTruth } from '../core/practice/drill.ts';
import { gaussian, makeRandom } from './random.ts';

/** An invented record; no person and no birth stands behind it. Drills have their truth. */
export interface InventedBirth {
  file: RecordFile;
  drill?: Drill;
}

const TIME_ZONE = 'Europe/London';
const MONTHS = 36;
const FIRST_YEAR = 2023;
const DAY_MS = 86_400_000;
const VOICE: Author = { kind: 'voice' };
const HELPER: Author = { kind: 'helper' };

const MANOEUVRES: { code: string; share: number; more?: Partial<Entry> }[] = [
  { code: 'mcroberts', share: 0.97 },
  { code: 'suprapubic-pressure', share: 0.8, more: { side: 'left', style: 'continuous' } },
  { code: 'episiotomy', share: 0.2 },
  { code: 'internal-entry', share: 0.45 },
  { code: 'rubin-2', share: 0.25 },
  { code: 'woods-screw', share: 0.2, more: { direction: 'clockwise' } },
  { code: 'posterior-arm', share: 0.3 },
  { code: 'all-fours', share: 0.12 },
];
const ROLES = [
  { role: 'obstetrician', delayS: 90 },
  { role: 'senior-midwife', delayS: 60 },
  { role: 'paediatrician', delayS: 150 },
  { role: 'anaesthetist', delayS: 240 },
];
/** Said again and again while a birth goes on. */
const REPEATED = ['push', 'stop-pushing', 'push', 'no-fundal-pressure'];

interface Planned {
  atMs: number;
  entry: Entry;
}

/**
 * The invented record number `index` of a series: the same numbers always give the same record. Head to body
 * shortens by a tenth and completeness rises in the second half of the three years.
 * @param options.acts roughly how many entries it holds; a birth has some 30, the rest is said again.
 */
export function inventedBirth(index: number, options: { seed?: number; acts?: number } = {}): InventedBirth {
  const random = makeRandom((options.seed ?? 1) * 1_000_003 + index);
  const chance = (share: number) => random() < share;
  const month = Math.floor(random() * MONTHS);
  const later = month >= MONTHS / 2;
  const practice = chance(0.3);
  const wallMs =
    Date.UTC(FIRST_YEAR, month, 1) + Math.floor(random() * 27) * DAY_MS + Math.floor(random() * DAY_MS);
  const recordId = `invented-${options.seed ?? 1}-${index}`;
  const truth = plan(random, later, options.acts ?? 50);
  const mode = practice ? 'practice' : 'real';
  const createdAt = isoWithOffset(TIME_ZONE, wallMs);
  const file = createRecordFile({ recordId, mode, wallMs, createdAt, timeZone: TIME_ZONE });
  const talk = new Talk(file, wallMs, random);
  const missed = later ? 0.05 : 0.08;
  for (const { atMs, entry } of truth) if (!chance(missed)) talk.call(atMs, entry);
  const endMs = truth.at(-1)!.atMs + 60_000;
  talk.add(HELPER, endMs, { kind: 'finish', atMs: endMs });
  for (const [field, value] of [
    ['head-birth-mode', 'spontaneous'],
    ['staff-present', 'invented staff'],
  ] as const) {
    if (chance(later ? 0.8 : 0.5))
      talk.add({ kind: 'reviewer' }, endMs + 600_000, { kind: 'field', field, value });
  }
  if (chance(0.7)) {
    const sign = { kind: 'sign', name: 'Invented Person', role: 'midwife', statement: 'Read.' } as const;
    talk.add({ kind: 'reviewer' }, endMs + 900_000, sign);
  }
  if (!practice) return { file };
  const events = truth.map(({ atMs, entry }, at): DrillTruth => ({ id: `t${at}`, atMs, entry, said: true }));
  return {
    file,
    drill: {
      format: 'utterlog-drill',
      version: 1,
      recordId,
      way: 'live',
      scenarioId: 'invented',
      scenarioTitle: 'Invented',
      startedAt: createdAt,
      truth: events,
      lines: [],
    },
  };
}

/** What happens, in time order. */
function plan(random: () => number, later: boolean, acts: number): Planned[] {
  const chance = (share: number) => random() < share;
  const planned: Planned[] = [];
  const add = (atS: number, entry: Entry) => planned.push({ atMs: Math.round(atS * 1000), entry });
  const headS = 120 + random() * 60;
  const toBodyS = Math.max(20, Math.exp(4.6 + 0.6 * gaussian(random) - (later ? 0.1 : 0)));
  const bodyS = headS + toBodyS;
  add(headS, { code: 'head-delivered' });
  if (chance(0.6)) add(headS + 4, { code: 'head-retracts' });
  add(headS + 8 + random() * 10, { code: 'dystocia-declared' });
  add(headS + 20, { code: 'help-called' });
  const used = MANOEUVRES.filter(({ share }) => chance(share));
  for (const [at, { code, more }] of used.entries()) {
    const startS = headS + 22 + ((toBodyS - 22) * at) / used.length;
    const endS = headS + 22 + ((toBodyS - 22) * (at + 0.8)) / used.length;
    if (startS >= bodyS - 2) continue;
    if (code === 'episiotomy') add(startS, { code, phase: 'done' });
    else {
      add(startS, { code, phase: 'start', ...more });
      if (chance(0.6) && endS < bodyS - 1)
        add(endS, { code, phase: chance(0.3) && code !== 'internal-entry' ? 'failed' : 'stop' });
    }
  }
  for (const { role, delayS } of ROLES) {
    const calledS = headS + 25 + random() * 40;
    if (chance(0.8)) add(calledS, { code: 'role-called', role });
    if (chance(0.85)) add(calledS + delayS * (0.4 + random() * 1.2), { code: 'role-arrived', role });
  }
  add(bodyS, { code: 'body-delivered' });
  add(bodyS + 30 + random() * 30, { code: 'cord-clamped' });
  for (const minute of [1, 5, 10] as const) {
    const score = Math.min(10, 5 + Math.floor(random() * 3) + (minute > 1 ? 2 : 0));
    if (chance(minute === 10 ? 0.4 : 0.9)) add(bodyS + minute * 60, { code: 'apgar', minute, score });
  }
  const pairS = bodyS + 700;
  if (chance(later ? 0.8 : 0.6))
    add(pairS, { code: 'cord-gas', vessel: 'arterial', ph: 7.18, baseExcess: -6 });
  if (chance(later ? 0.75 : 0.5))
    add(pairS + 20, { code: 'cord-gas', vessel: 'venous', ph: 7.27, baseExcess: -4 });
  if (chance(0.9)) add(bodyS + 500, { code: 'birth-weight', grams: 3600 + Math.floor(random() * 1200) });
  if (chance(0.85)) add(bodyS + 800, bloodLoss(random));
  if (chance(0.8)) add(bodyS + 850, { code: 'perineum', grade: '2' });
  if (chance(0.7)) add(bodyS + 900, { code: 'placenta-delivered' });
  if (chance(0.5)) add(bodyS + 950, { code: 'parents-informed' });
  for (let at = planned.length; at < acts; at++)
    add(30 + random() * (bodyS - 40), { code: REPEATED[at % REPEATED.length]! });
  return planned.sort((a, b) => a.atMs - b.atMs);
}

function bloodLoss(random: () => number): Entry {
  const millilitres = 300 + Math.floor(random() * 900);
  const method = random() < 0.5 ? 'measured' : random() < 0.6 ? 'estimated' : undefined;
  return { code: 'blood-loss', millilitres, ...(method === undefined ? {} : { method }) };
}

/** Says the plan aloud: most is heard, some is asked about, mended or lost. */
class Talk {
  private count = 0;

  constructor(
    private readonly file: RecordFile,
    private readonly wallMs: number,
    private readonly random: () => number,
  ) {}

  add(by: Author, madeAtMs: number, ...bodies: EventBody[]): void {
    const madeAt = isoWithOffset(TIME_ZONE, this.wallMs + madeAtMs);
    this.file.events.push(...sealEvents(this.file.events.at(-1) ?? null, bodies, { by, madeAtMs, madeAt }));
  }

  call(atMs: number, entry: Entry): void {
    const number = (this.count += 1);
    const [utteranceId, entryId] = [`u${number}`, `e${number}`];
    const sound = { kind: 'utterance', utteranceId, onsetMs: atMs, endMs: atMs + 1200 } as const;
    const heard = entry.code.replaceAll('-', ' ');
    const timing: Timing = 'heard';
    const fate = this.random();
    const madeAtMs = atMs + 1800;
    if (fate < 0.04) {
      this.add(VOICE, madeAtMs, { ...sound, heard, confidence: 0.3, outcome: 'unrecognised' });
      if (this.random() < 0.5)
        this.add(HELPER, atMs + 9000, { kind: 'entry', entryId, entry, atMs, timing: 'touch', utteranceId });
      return;
    }
    if (fate < 0.1) {
      const questionId = `q${number}`;
      this.add(
        VOICE,
        madeAtMs,
        { ...sound, heard, confidence: 0.6, outcome: 'ask' },
        { kind: 'question', questionId, utteranceId, entries: [entry], problem: 'unclear', atMs, timing },
      );
      if (this.random() < 0.8)
        this.add(HELPER, atMs + 8000, { kind: 'confirm', questionId, entryIds: [entryId], entries: [entry] });
      return;
    }
    this.add(
      VOICE,
      madeAtMs,
      { ...sound, heard, confidence: 0.9, outcome: 'accept' },
      { kind: 'entry', entryId, entry, atMs, timing, utteranceId },
    );
    if (fate > 0.98)
      this.add(HELPER, atMs + 12_000, { kind: 'shift', entryId, atMs: atMs - 500, reason: 'invented' });
  }
}
