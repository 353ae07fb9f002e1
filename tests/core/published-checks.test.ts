import { expect, it } from 'vitest';
import { SOURCES, cite, sourceOf } from '../../src/core/sources.ts';
import { CHECKS, isBackground } from './published-checks.ts';

it('320 check values, each once, with a source or a word on why there is none', () => {
  expect(CHECKS).toHaveLength(320);
  expect(new Set(CHECKS.map(({ id }) => id)).size).toBe(320);
  for (const { id, source, tag, references } of CHECKS) {
    expect(['read', 'memory', 'computed', 'common-practice'], id).toContain(tag);
    expect(source, id).not.toMatch(/https?:|www\./);
    for (const [, named] of source.matchAll(/\[([a-z0-9.-]+)\]/g)) expect(references, id).toContain(named);
    for (const reference of references ?? []) expect(() => sourceOf(reference), id).not.toThrow();
    if (tag === 'read') expect((references ?? []).length, id).toBeGreaterThan(0);
  }
});

it('shares and sums among the background values are right', () => {
  const of = (id: string) => CHECKS.find((check) => check.id === id)!;
  const share = (id: string, part: string, whole: string) => {
    const { input, expected, tolerance } = of(id);
    const percent = (100 * (input[part] as number)) / (input[whole] as number);
    expect(Math.abs(percent - (expected as number))).toBeLessThanOrEqual(tolerance!);
  };
  share('pair-wrong-share', 'two_vessels', 'pairs');
  share('pair-swapped-share', 'vein_lower_ph_or_higher_pco2', 'pairs');
  const parts = of('interval-spong-parts');
  const sum = (parts.input.parts_s as number[]).reduce((a, b) => a + b, 0);
  expect(Math.abs(sum - (parts.expected as number))).toBeLessThanOrEqual(parts.tolerance!);
  for (const id of ['unit-min-1', 'unit-min-2', 'unit-min-3', 'unit-min-4'])
    expect((of(id).input.minutes as number) * 60).toBeCloseTo(of(id).expected as number, 9);
});

it('most values test the app itself', () => {
  expect(CHECKS.filter((check) => !isBackground(check)).length).toBeGreaterThan(240);
});

it('cites as a clinician would, never by an address', () => {
  for (const { id } of SOURCES) expect(cite(id)).not.toMatch(/https?:|www\./);
  expect(cite('lang-zander-2002')).toBe(
    'Lang W, Zander R. The accuracy of calculated base excess in blood. Clinical Chemistry and Laboratory Medicine 2002;40(4):404-410. doi:10.1515/CCLM.2002.065. Read: abstract, with the equation.',
  );
});
