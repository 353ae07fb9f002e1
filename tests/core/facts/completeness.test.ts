import { describe, expect, it } from 'vitest';
import { FIELD_SOURCES, FIELDS, YARDSTICKS } from '../../../src/core/facts/completeness.ts';
import { deriveFacts } from '../../../src/core/facts/derive.ts';
import codes from '../../../src/packs/shoulder-dystocia/codes.json' with { type: 'json' };
import { sourceOf } from '../../../src/core/sources.ts';
import { at, MadeRecord } from '../log/make-record.ts';
import { checksOf } from '../published-checks.ts';

const stateOf = (record: MadeRecord, id: string) =>
  deriveFacts(record.view)
    .completeness.groups.flatMap((g) => g.fields)
    .find((f) => f.field.id === id)!;

describe('the list of fields', () => {
  it('names known sources and known codes, once each, and every field says who asks for it', () => {
    expect(new Set(FIELDS.map((f) => f.id)).size).toBe(FIELDS.length);
    for (const field of FIELDS) {
      for (const { source, tag } of field.askedBy) {
        expect(FIELD_SOURCES, field.id).toHaveProperty([source]);
        expect(['read', 'memory', 'common-practice']).toContain(tag);
      }
      expect(field.askedBy.length > 0 || field.status === 'J', field.id).toBe(true);
      if (field.status === 'R')
        expect(
          field.askedBy.some((a) => a.tag === 'read'),
          field.id,
        ).toBe(true);
      for (const { code } of field.filledBy ?? [])
        expect(
          codes.map((c) => c.code),
          field.id,
        ).toContain(code);
      if (field.kind === 'choice') expect(field.choices!.length, field.id).toBeGreaterThan(1);
    }
    for (const yardstick of YARDSTICKS) expect(sourceOf(yardstick.reference).read).not.toBe('');
  });

  // Source: common practice, no published source.
  it.each(checksOf('practice'))('%s', (_title, check) => {
    const ids: Record<string, string> = {
      'time of head': 'head-time',
      'time of diagnosis': 'dystocia-time',
      'direction the head faced': 'head-faces',
      'manoeuvres with sequence and timing': 'manoeuvres-used',
      'time baby delivered': 'body-time',
      'arrival of anaesthetist': 'anaesthetist-arrived',
      'arrival of paediatrician': 'paediatric-arrived',
      'Apgar scores': 'apgar-1',
      'paired arterial and venous cord samples': 'cord-arterial',
      artery: 'cord-arterial',
      vein: 'cord-venous',
    };
    for (const name of check.expected as string[])
      expect(
        FIELDS.map((f) => f.id),
        name,
      ).toContain(ids[name]);
  });
});

describe('completeness', () => {
  it('counts what applies and is recorded, by call-out, by typed field and by derived fact', () => {
    const record = new MadeRecord()
      .called(at(1), 'head', { code: 'head-delivered' })
      .called(at(4), 'body', { code: 'body-delivered' })
      .called(at(5), 'paeds', { code: 'role-arrived', role: 'paediatrician' })
      .field(at(30), 'head-birth-mode', 'vacuum');
    expect(stateOf(record, 'head-to-body')).toMatchObject({ state: 'recorded' });
    expect(stateOf(record, 'head-to-body').entryIds).toHaveLength(2);
    expect(stateOf(record, 'head-birth-mode')).toMatchObject({ state: 'recorded', typed: 'vacuum' });
    expect(stateOf(record, 'paediatric-arrived').state).toBe('recorded');
    expect(stateOf(record, 'paediatric-called').state).toBe('not recorded');
    expect(stateOf(record, 'suprapubic-side').state).toBe('does not apply');
    record.called(at(2), 'spp', { code: 'suprapubic-pressure' });
    expect(stateOf(record, 'suprapubic-side').state).toBe('not recorded');
    const { completeness } = deriveFacts(record.view);
    const fields = completeness.groups.flatMap((g) => g.fields);
    expect(completeness.asked).toBe(fields.filter((f) => f.state !== 'does not apply').length);
    expect(completeness.share).toBeCloseTo(completeness.recorded / completeness.asked, 10);
  });

  it('an emptied field is not recorded', () => {
    const record = new MadeRecord().field(at(1), 'traction', 'routine').field(at(2), 'traction', '');
    expect(stateOf(record, 'traction').state).toBe('not recorded');
  });
});
