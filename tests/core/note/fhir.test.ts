import { Fhir } from 'fhir';
import { describe, expect, it } from 'vitest';
import { deriveFacts } from '../../../src/core/facts/derive.ts';
import { buildNote } from '../../../src/core/note/build.ts';
import { noteFhir } from '../../../src/core/note/fhir.ts';
import loinc from '../../../src/core/note/loinc.json' with { type: 'json' };
import { checksOf, unread } from '../published-checks.ts';
import { at, MadeRecord } from '../log/make-record.ts';
import { INVENTED } from './invented-records.ts';
import { loadVocabulary } from '../../../src/packs/vocabulary.ts';

interface Coded {
  text: string;
  coding?: { system: string; code: string }[];
}
interface AnyResource {
  resourceType: string;
  id: string;
  status: string;
  code: Coded;
  [key: string]: unknown;
}
interface Bundle {
  timestamp: string;
  entry: { fullUrl: string; resource: AnyResource }[];
}

const bundleOf = ({ file, view }: MadeRecord) =>
  JSON.parse(noteFhir(buildNote(file, view, deriveFacts(view), loadVocabulary()))) as Bundle;
const resources = (bundle: Bundle, type: string) =>
  bundle.entry.map((e) => e.resource).filter((r) => r.resourceType === type);
const observation = (bundle: Bundle, text: string) =>
  resources(bundle, 'Observation').find((r) => r.code.text === text)!;
/** With the R4 definitions that the validator ships. */
const validator = new Fhir();

describe('the FHIR document', () => {
  it.each(Object.keys(INVENTED))('of %s is valid R4 by an independent validator', (name) => {
    const bundle = bundleOf(INVENTED[name]!());
    for (const { resource } of bundle.entry) {
      const { messages } = validator.validate(resource, { errorOnUnexpected: true });
      const errors = messages.filter(({ severity }) => severity === 'error' || severity === 'fatal');
      expect(errors, resource.resourceType).toEqual([]);
    }
    const { messages } = validator.validate(bundle, { errorOnUnexpected: true });
    expect(messages.filter(({ severity }) => severity === 'error' || severity === 'fatal')).toEqual([]);
  });

  it('is refused by that validator when it is wrong', () => {
    const bundle = bundleOf(INVENTED['short-easy-birth']!());
    const wrong = {
      ...observation(bundle, 'Birth weight'),
      resourceType: 'Observation',
      status: undefined,
      colour: 'red',
    };
    const { messages } = validator.validate(wrong, { errorOnUnexpected: true });
    expect(messages.filter(({ severity }) => severity === 'error').length).toBeGreaterThan(1);
  });

  it.each(Object.keys(INVENTED))(
    'of %s begins with its Composition, and every reference is in it',
    (name) => {
      const bundle = bundleOf(INVENTED[name]!());
      expect(bundle.entry[0]!.resource.resourceType).toBe('Composition');
      const urls = bundle.entry.map(({ fullUrl }) => fullUrl);
      expect(new Set(urls).size).toBe(urls.length);
      for (const { fullUrl, resource } of bundle.entry) expect(fullUrl).toBe(`urn:uuid:${resource.id}`);
      for (const [, reference] of JSON.stringify(bundle).matchAll(/"reference":"([^"]+)"/g))
        expect(urls).toContain(reference);
      const listed = JSON.stringify(bundle.entry[0]!.resource);
      for (const type of ['Procedure', 'Observation']) {
        for (const { id } of resources(bundle, type)) expect(listed).toContain(id);
      }
    },
  );

  it.each(Object.keys(INVENTED))(
    'of %s codes all it says, and brings the meaning of its own codes',
    (name) => {
      const bundle = bundleOf(INVENTED[name]!());
      const [system, ...others] = resources(bundle, 'CodeSystem');
      expect(others).toEqual([]);
      const told = [...resources(bundle, 'Observation'), ...resources(bundle, 'Procedure')];
      const parts = told.flatMap((r) => (r.component as { code: Coded }[] | undefined) ?? []);
      const meant = new Map(
        (system!.concept as { code: string; definition: string }[]).map((c) => [c.code, c]),
      );
      const used = [...told, ...parts].map(({ code }) => {
        expect(code.coding, code.text).toHaveLength(1);
        return code.coding![0]!;
      });
      for (const { system: of, code } of used)
        if (of !== 'http://loinc.org') expect(meant.get(code)?.definition.length, code).toBeGreaterThan(20);
      const own = used.filter(({ system: of }) => of !== 'http://loinc.org').map(({ code }) => code);
      expect([...meant.keys()].sort()).toEqual([...new Set(own)].sort());
    },
  );

  it('gives sides and styles as components, an Apgar the time it is of, a typed field its time and Provenance', () => {
    const bundle = bundleOf(INVENTED['all-manoeuvres']!());
    const details = resources(bundle, 'Observation').filter((r) => r.partOf !== undefined);
    const values = details.flatMap((r) =>
      (r.component as { valueString: string }[]).map((c) => c.valueString),
    );
    expect(values).toContain("mother's left");
    const procedures = resources(bundle, 'Procedure').map(({ id }) => `urn:uuid:${id}`);
    for (const { partOf } of details)
      expect(procedures).toContain((partOf as { reference: string }[])[0]!.reference);
    const born = Date.parse(observation(bundle, 'Time baby delivered').valueDateTime as string);
    const five = observation(bundle, 'Apgar score at 5 min');
    expect(Date.parse(five.effectiveDateTime as string) - born).toBe(300_000);
    const late = bundleOf(
      new MadeRecord({})
        .called(at(1), 'baby out', { code: 'body-delivered' })
        .called(at(9), 'five minute apgar eight', { code: 'apgar', minute: 5, score: 8 }),
    );
    const { issued, effectiveDateTime } = observation(late, 'Apgar score at 5 min');
    expect(Date.parse(issued as string) - Date.parse(effectiveDateTime as string)).toBe(at(9) - at(6));
    const targets = resources(bundle, 'Provenance').map((p) => [
      (p.activity as Coded).text,
      (p.target as { reference: string }[])[0]!.reference,
    ]);
    const typed = resources(bundle, 'Observation').filter((r) =>
      r.code.coding?.[0]?.code.startsWith('field-'),
    );
    expect(typed.length).toBeGreaterThan(0);
    for (const { id } of typed) expect(targets).toContainEqual(['typed', `urn:uuid:${id}`]);
  });

  it('gives every entry a Provenance with its origin and time', () => {
    const record = INVENTED['amended-after-signing']!();
    const told = resources(bundleOf(record), 'Provenance').map((p) => [
      (p.activity as Coded).text,
      p.recorded,
      (p.reason as Coded[] | undefined)?.[0]!.text,
    ]);
    expect(told.filter(([how]) => how === 'voice')).toHaveLength(8);
    expect(told).toContainEqual(['later edit: added', '2026-03-05T15:31:00.000+00:00', undefined]);
    expect(told).toContainEqual([
      'later edit: entry corrected',
      '2026-03-05T15:32:00.000+00:00',
      'score sheet says 8',
    ]);
    expect(told).toContainEqual([
      'later edit: time corrected',
      '2026-03-05T14:30:00.000+00:00',
      'heard on the ward bell log',
    ]);
  });

  it('says in its status whether it is signed, amended or not yet signed', () => {
    const status = (name: string) => bundleOf(INVENTED[name]!()).entry[0]!.resource.status;
    expect([status('short-easy-birth'), status('amended-after-signing')]).toEqual(['preliminary', 'amended']);
    const signed = INVENTED['short-easy-birth']!().append({ kind: 'reviewer' }, at(30), {
      kind: 'sign',
      name: 'A',
      role: '',
      statement: 's',
    });
    expect(bundleOf(signed).entry[0]!.resource.status).toBe('final');
  });

  it('marks practice for machines, stops what failed, names versions, keeps readings out', () => {
    const drill = bundleOf(INVENTED.drill!());
    for (const { resource } of drill.entry)
      expect(resource.meta).toMatchObject({ security: [{ code: 'HTEST' }] });
    const bundle = bundleOf(INVENTED['all-manoeuvres']!());
    const failed = resources(bundle, 'Procedure').filter((p) => p.status === 'stopped');
    expect(failed).toHaveLength(1);
    expect(failed[0]).toMatchObject({ code: { text: 'Posterior arm' }, outcome: { text: 'failed' } });
    expect(resources(bundle, 'Device')[0]!.version).toHaveLength(3);
    expect(JSON.stringify(bundle)).not.toMatch(/a piece of me|second reading/);
    const sections = bundle.entry[0]!.resource.section as { title: string; text: { div: string } }[];
    expect(sections.find(({ title }) => title === 'Newborn')!.text.div).toContain('4200 g');
  });

  it('keeps a struck entry as entered in error', () => {
    expect(observation(bundleOf(INVENTED.drill!()), 'No fundal pressure').status).toBe('entered-in-error');
  });

  it('has no birth with dystocia where nobody named one, and no value where nobody gave one', () => {
    const bundle = bundleOf(INVENTED['missing-head-time']!());
    expect(resources(bundle, 'Procedure').map((p) => p.code.text)).not.toContain(
      'Vaginal birth with shoulder dystocia',
    );
    expect(observation(bundle, 'Head-to-body interval')).toMatchObject({
      dataAbsentReason: { text: 'not recorded' },
    });
    expect(observation(bundle, 'Head-to-body interval').valueQuantity).toBeUndefined();
    expect(observation(bundle, "Anterior shoulder (the baby's own side)")).toHaveProperty('dataAbsentReason');
  });

  it('sends an anterior shoulder that other facts contradict as a conflict', () => {
    const bundle = bundleOf(INVENTED['contradictory-sides']!());
    expect(observation(bundle, "Anterior shoulder (the baby's own side)").valueString).toBe('conflict');
  });

  it('keeps artery and vein apart, with the sign as told, and no code from memory', () => {
    const bundle = bundleOf(INVENTED['all-manoeuvres']!());
    expect(observation(bundle, 'pH, cord artery')).toMatchObject({
      code: { coding: [{ code: '28646-8' }] },
      valueQuantity: { value: 7.12, code: '[pH]' },
      effectiveDateTime: '2026-03-06T00:04:33.600+00:00',
    });
    expect(observation(bundle, 'pH, cord vein').code.coding).toMatchObject([{ code: 'gas-ph' }]);
    expect(observation(bundle, 'Base excess, cord artery')).toMatchObject({
      valueQuantity: { value: -9, code: 'mmol/L' },
    });
    expect(observation(bundle, 'pCO2, cord vein').code.coding![0]!.code).toBe('28645-0');
    expect(observation(bundle, 'Apgar score at 5 min').component).toHaveLength(5);
    expect(observation(bundle, 'Head-to-body interval')).toMatchObject({
      valueQuantity: { value: 311, code: 's' },
    });
  });

  it('escapes its narrative', () => {
    const record = new MadeRecord({ reference: '<b>&"' }).called(at(1), '<script>', {
      code: 'free-note',
      text: '<script>&',
    });
    const text = JSON.stringify(bundleOf(record).entry[0]!.resource);
    expect(text).not.toContain('<script');
    expect(text).toContain('&lt;script&gt;&amp;');
  });
});

const sentCodes = () => {
  const bundles = Object.values(INVENTED).map((make) => bundleOf(make()));
  return new Set(
    bundles.flatMap((b) =>
      [...JSON.stringify(b).matchAll(/"system":"http:\/\/loinc\.org","code":"([^"]+)"/g)].map(
        ([, code]) => code,
      ),
    ),
  );
};
/** Mod-10 check digit of a LOINC code. */
function checkDigitHolds(code: string): boolean {
  const [digits, check] = code.split('-') as [string, string];
  const sum = [...digits].reverse().reduce((total, digit, place) => {
    const value = Number(digit) * (place % 2 === 0 ? 2 : 1);
    return total + (value > 9 ? value - 9 : value);
  }, 0);
  return (10 - (sum % 10)) % 10 === Number(check);
}

describe('LOINC', () => {
  it.each(checksOf('loinc'))('%s', (_title, check) => {
    const { meaning, code, codes, test } = check.input as {
      meaning?: string;
      code?: string;
      codes?: string[];
      test?: string;
    };
    if (test !== undefined) {
      for (const one of codes ?? [code!]) expect(checkDigitHolds(one), one).toBe(check.expected);
      expect(codes ?? loinc.codes.map((c) => c.code)).toEqual(loinc.codes.map((c) => c.code));
    } else if (check.expected === null) {
      expect(loinc.codes.map((c) => c.meaning)).not.toContain(meaning);
    } else if (meaning !== undefined) {
      expect(loinc.codes.find((c) => c.meaning === meaning)).toMatchObject({
        code: check.expected,
        tag: check.tag,
      });
    } else unread(check);
  });

  it('sends only codes that were read, and UCUM units only', () => {
    const read = new Set(loinc.codes.filter(({ tag }) => tag === 'read').map(({ code }) => code));
    expect(sentCodes().size).toBeGreaterThan(12);
    for (const code of sentCodes()) expect(read, code).toContain(code);
    const units = new Set(
      Object.values(INVENTED).flatMap((make) =>
        [...JSON.stringify(bundleOf(make())).matchAll(/unitsofmeasure\.org","code":"([^"]+)"/g)].map(
          ([, unit]) => unit,
        ),
      ),
    );
    for (const unit of units)
      expect(['s', 'g', 'mL', 'mmol/L', 'kPa', 'mm[Hg]', '[pH]', '{score}', '[iU]', 'mg', 'ug']).toContain(
        unit,
      );
  });
});
