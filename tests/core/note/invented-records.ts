import type { Entry } from '../../../src/core/entry.ts';
import { at, MadeRecord } from '../log/make-record.ts';

/** Seven invented records: no person, no birth stands behind them. */
export const INVENTED: Record<string, () => MadeRecord> = {
  'short-easy-birth': shortEasyBirth,
  'all-manoeuvres': allManoeuvres,
  'missing-head-time': missingHeadTime,
  'contradictory-sides': contradictorySides,
  drill,
  'amended-drill': amendedDrill,
  'amended-after-signing': amendedAfterSigning,
};

const start = (code: string, more: Partial<Entry> = {}): Entry => ({ code, phase: 'start', ...more });
const stop = (code: string, more: Partial<Entry> = {}): Entry => ({ code, phase: 'stop', ...more });

function shortEasyBirth(): MadeRecord {
  return new MadeRecord({ reference: 'Invented 1' })
    .called(at(2, 10), 'head is out', { code: 'head-delivered' })
    .called(at(2, 21), 'head is facing her left leg', { code: 'head-faces', side: 'left' })
    .called(at(2, 31), 'shoulder dystocia', { code: 'dystocia-declared' })
    .called(at(2, 33), 'pull the bell', { code: 'help-called' })
    .called(at(2, 40), 'mcroberts', { code: 'mcroberts' })
    .called(at(3, 2), 'anterior shoulder is out', { code: 'anterior-shoulder-delivered' })
    .called(at(3, 8), 'baby out', { code: 'body-delivered' })
    .called(at(4, 10), 'apgar nine at one minute', { code: 'apgar', minute: 1, score: 9 })
    .command(at(5), 'finish record', 'finish');
}

function allManoeuvres(): MadeRecord {
  const record = new MadeRecord({ reference: 'Invented 2', startAt: '2026-03-05T23:54:00Z' });
  record.append({ kind: 'helper' }, at(0, 20), {
    kind: 'clock-offset',
    roomMinusDeviceMs: 93_600,
    against: 'wall clock',
  });
  record
    .called(at(1), 'position is L O A', { code: 'fetal-position', position: 'LOA' })
    .called(at(2, 10), 'head delivered', { code: 'head-delivered' })
    .called(at(2, 16), 'turtle sign', { code: 'head-retracts' })
    .called(at(2, 25), 'shoulder dystocia', { code: 'dystocia-declared' })
    .called(at(2, 28), 'emergency buzzer please', { code: 'help-called' })
    .called(at(2, 32), 'call the paediatrician', { code: 'role-called', role: 'paediatrician' })
    .called(at(2, 35), 'and the anaesthetist', { code: 'role-called', role: 'anaesthetist' })
    .called(at(2, 40), 'stop pushing', { code: 'stop-pushing' })
    .called(at(2, 44), 'legs back mcroberts', start('mcroberts'))
    .called(at(3, 5), 'senior midwife here', { code: 'role-arrived', role: 'senior-midwife' })
    .called(
      at(3, 12),
      'continuous suprapubic from the left',
      start('suprapubic-pressure', { side: 'left', style: 'continuous' }),
    )
    .called(at(3, 44), 'rocking now', start('suprapubic-pressure', { style: 'rocking' }))
    .called(at(4, 12), 'no effect', { code: 'no-effect' })
    .called(at(4, 14), 'pressure off', stop('suprapubic-pressure'))
    .said(
      at(4, 18),
      'episiotomy',
      { outcome: 'ask', entries: [{ code: 'episiotomy', phase: 'done' }], problem: 'unclear' },
      'a piece of me',
    )
    .command(at(4, 21), 'yes', 'confirm')
    .called(at(4, 25), 'right hand in', start('internal-entry', { hand: 'right' }))
    .called(at(4, 30), 'rubin two with my right', start('rubin-2', { hand: 'right' }))
    .called(at(4, 55), 'woods screw anticlockwise', start('woods-screw', { direction: 'anticlockwise' }))
    .called(at(5, 20), 'paeds here', { code: 'role-arrived', role: 'paediatrician' })
    .called(at(5, 22), 'reverse woods', start('reverse-woods-screw'))
    .called(at(5, 45), 'going for the posterior arm', start('posterior-arm'))
    .called(at(6, 8), "can't reach the posterior arm", { code: 'posterior-arm', phase: 'failed' })
    .called(at(6, 12), 'hand out', stop('internal-entry'))
    .called(at(6, 20), 'roll her over all fours', start('all-fours'))
    .called(at(6, 50), 'hand in', start('internal-entry'))
    .called(at(6, 53), 'going for the posterior arm', start('posterior-arm'))
    .called(at(7, 10), 'posterior arm is out', { code: 'posterior-arm', phase: 'done' })
    .called(at(7, 21), 'baby out', { code: 'body-delivered' })
    .called(at(7, 30), 'cord clamped', { code: 'cord-clamped' })
    .called(at(7, 40), 'floppy', { code: 'tone', state: 'floppy' })
    .called(at(7, 50), 'baby to the neonatal team', { code: 'baby-to-neonatal-team' })
    .called(at(8, 21), 'apgar three at one', { code: 'apgar', minute: 1, score: 3 })
    .called(at(8, 40), 'anaesthetist here', { code: 'role-arrived', role: 'anaesthetist' })
    .called(at(9), 'cord gases taken', { code: 'cord-samples-taken' })
    .said(at(9, 30), 'thinking of the notes', { outcome: 'unrecognised', entries: [] })
    .called(at(12, 21), 'apgar seven at five colour one heart rate two reflex one tone one breathing two', {
      code: 'apgar',
      minute: 5,
      score: 7,
      parts: { colour: 1, heartRate: 2, reflex: 1, tone: 1, breathing: 2 },
    })
    .called(at(14), 'placenta out', { code: 'placenta-delivered' })
    .called(at(15), 'arterial pH seven one two base excess minus nine p c o two eight point nine', {
      code: 'cord-gas',
      vessel: 'arterial',
      ph: 7.12,
      baseExcess: -9,
      pco2: 8.9,
    })
    .called(at(15, 20), 'venous pH seven two four base excess minus six p c o two six point two', {
      code: 'cord-gas',
      vessel: 'venous',
      ph: 7.24,
      baseExcess: -6,
      pco2: 6.2,
    })
    .called(at(16), 'four thousand two hundred grams', { code: 'birth-weight', grams: 4200 })
    .called(at(17), 'blood loss eight hundred in total measured', {
      code: 'blood-loss',
      millilitres: 800,
      method: 'measured',
      basis: 'total',
    })
    .called(at(17, 20), 'oxytocin ten units i m', {
      code: 'drug-given',
      drug: 'oxytocin',
      dose: 'ten units i m',
      amount: 10,
      unit: '[iU]',
      route: 'im',
    })
    .called(at(17, 40), 'right arm not moving', {
      code: 'arm-movement',
      babySide: 'right',
      state: 'absent',
    })
    .called(at(18), 'three a tear', { code: 'perineum', grade: '3a' })
    .command(at(19), 'finish record', 'finish');
  return record
    .typed(at(40), at(25), { code: 'parents-informed' })
    .field(at(41), 'head-birth-mode', 'spontaneous')
    .field(
      at(41, 30),
      'staff-present',
      'two midwives, senior midwife, obstetrician, paediatrician, anaesthetist',
    );
}

function missingHeadTime(): MadeRecord {
  const record = new MadeRecord({ reference: 'Invented 3' })
    .called(at(1), 'help please', { code: 'help-called' })
    .called(at(1, 12), 'mcroberts', { code: 'mcroberts' })
    .called(at(1, 40), 'pressure off', stop('suprapubic-pressure'));
  record.append({ kind: 'system' }, at(1, 50), {
    kind: 'speech-state',
    state: 'unavailable',
    why: 'microphone unplugged',
    atMs: at(1, 50),
  });
  record.append({ kind: 'system' }, at(2, 30), { kind: 'speech-state', state: 'listening', atMs: at(2, 30) });
  return record
    .said(at(2, 50), 'shoulder delivered', {
      outcome: 'ask',
      entries: [{ code: 'anterior-shoulder-delivered' }],
      alternatives: [{ entries: [{ code: 'posterior-shoulder-delivered' }] }],
      problem: 'unclear',
    })
    .touched(at(3, 5), { code: 'body-delivered' })
    .command(at(3, 40), 'mark that', 'mark')
    .said(at(4), 'head was delivered at half past nine', {
      outcome: 'accept',
      entries: [{ code: 'head-delivered' }],
      when: { clock: '09:30' },
    })
    .said(at(4, 30), 'cord p h seven one five', {
      outcome: 'ask',
      entries: [{ code: 'cord-gas', ph: 7.15 }],
      problem: 'vessel-missing',
    });
}

function contradictorySides(): MadeRecord {
  return new MadeRecord({ reference: 'Invented 4' })
    .called(at(1), 'L O A', { code: 'fetal-position', position: 'LOA' })
    .called(at(2), 'head out', { code: 'head-delivered' })
    .called(at(2, 10), 'facing maternal left', { code: 'head-faces', side: 'left' })
    .called(at(2, 15), 'shoulder dystocia', { code: 'dystocia-declared' })
    .called(at(2, 20), 'call the anaesthetist', { code: 'role-called', role: 'anaesthetist' })
    .called(at(2, 30), 'suprapubic from the right', start('suprapubic-pressure', { side: 'right' }))
    .called(at(3), 'suprapubic off', stop('suprapubic-pressure'))
    .called(at(3, 10), 'left shoulder is anterior', { code: 'anterior-shoulder', babySide: 'left' })
    .called(at(3, 20), 'baby is out', { code: 'body-delivered' })
    .called(at(4, 20), 'apgar eight at one', { code: 'apgar', minute: 1, score: 8 })
    .called(at(4, 40), 'apgar six at one', { code: 'apgar', minute: 1, score: 6 })
    .called(at(6), 'anaesthetist here', { code: 'role-arrived', role: 'anaesthetist' })
    .command(at(7), 'finish', 'finish')
    .typed(
      at(20),
      at(1, 30),
      { code: 'role-arrived', role: 'paediatrician' },
      { kind: 'reviewer', name: 'invented reviewer' },
      true,
    )
    .typed(at(21), at(2, 18), { code: 'help-called' }, { kind: 'reviewer', name: 'invented reviewer' });
}

function drill(): MadeRecord {
  return new MadeRecord({ mode: 'practice', reference: 'Drill, Tuesday' })
    .called(at(1), 'head out', { code: 'head-delivered' })
    .said(at(1, 40), 'dystocia declared thirty seconds ago', {
      outcome: 'accept',
      entries: [{ code: 'dystocia-declared' }],
      when: { agoSeconds: 30 },
    })
    .called(at(1, 45), 'mcroberts on', start('mcroberts'))
    .called(at(2), 'suprapubic from the left', start('suprapubic-pressure', { side: 'left' }))
    .called(at(2, 4), 'fundal pressure from nobody', { code: 'no-fundal-pressure' })
    .command(at(2, 8), 'scratch that', 'undo')
    .called(at(2, 40), 'baby out', { code: 'body-delivered' })
    .command(at(3), 'end of drill', 'finish');
}

function amendedAfterSigning(): MadeRecord {
  const record = shortEasyBirth();
  const reviewer = { kind: 'reviewer', name: 'First Invented' } as const;
  record.append(reviewer, at(30), {
    kind: 'shift',
    entryId: record.idOf('help-called'),
    atMs: at(2, 29),
    reason: 'heard on the ward bell log',
  });
  record.append(reviewer, at(31), {
    kind: 'sign',
    name: 'First Invented',
    role: 'midwife',
    statement: 'I have read this record and it is right to my knowledge.',
  });
  record.append({ kind: 'reviewer', name: 'Second Invented' }, at(32), {
    kind: 'sign',
    name: 'Second Invented',
    role: 'obstetrician',
    statement: 'Read and agreed.',
  });
  record.append(reviewer, at(90), {
    kind: 'amend',
    reason: 'Birth weight was left out; the Apgar score was misheard.',
  });
  record.typed(at(91), at(12), { code: 'birth-weight', grams: 3980 }, reviewer);
  return record.append(reviewer, at(92), {
    kind: 'replace',
    entryId: record.idOf('apgar'),
    entry: { code: 'apgar', minute: 1, score: 8 },
    reason: 'score sheet says 8',
  });
}

/** A drill that was signed, opened again and changed. */
function amendedDrill(): MadeRecord {
  const record = drill();
  const facilitator = { kind: 'facilitator', name: 'Third Invented' } as const;
  record.append(facilitator, at(20), {
    kind: 'sign',
    name: 'Third Invented',
    role: 'facilitator',
    statement: 'Read with the team.',
  });
  record.append(facilitator, at(40), {
    kind: 'amend',
    reason: 'The side of the pressure was said otherwise.',
  });
  return record.append(facilitator, at(41), {
    kind: 'replace',
    entryId: record.idOf('suprapubic-pressure'),
    entry: start('suprapubic-pressure', { side: 'right' }),
    reason: 'heard on the film of the drill',
  });
}
