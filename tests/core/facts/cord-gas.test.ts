import { describe, expect, it } from 'vitest';
import {
  comparePair,
  cordGas,
  oneDecimal,
  byFormula,
  type PairInput,
} from '../../../src/core/facts/cord-gas.ts';
import {
  baseExcess,
  bicarbonate,
  NAMED_FORMULAS,
  type BaseExcessName,
  type BicarbonateName,
} from '../../../src/core/facts/gas-formulas.ts';
import { baseDeficitFromExcess, kpaFromMmhg, mmhgFromKpa } from '../../../src/core/facts/units.ts';
import { sourceOf } from '../../../src/core/sources.ts';
import { at, MadeRecord } from '../log/make-record.ts';
import { checksOf, unread, type PublishedCheck } from '../published-checks.ts';

const HB = 15;
const within = (check: PublishedCheck, value: number) =>
  expect(Math.abs(value - (check.expected as number))).toBeLessThanOrEqual(check.tolerance!);

/** "van-slyke long-clsi" and its like: the formula and the bicarbonate that it starts from. */
const LONG_FORMS: Record<string, BicarbonateName> = {
  'van-slyke long-0.0307-6.1': 'hco3-0.0307-6.1',
  'van-slyke long-clsi': 'hco3-clsi',
  'van-slyke long-simple': 'hco3-simple',
};
const BASE_EXCESS = ['be-ecf-clsi', 'be-b-clsi', 'van-slyke-long', 'van-slyke-one-line', 'zander-2002'];

interface GasCheck {
  formula?: string;
  ph: number;
  pco2_mmhg: number;
  pco2_kpa: number;
  result?: string;
  decimals?: number;
}

describe('cord gas formulas', () => {
  it.each(checksOf('cord-gas'))('%s', (_title, check) => {
    const { formula, ph, pco2_mmhg, pco2_kpa, result, decimals } = check.input as unknown as GasCheck;
    const gas = { ph, pco2Mmhg: pco2_mmhg ?? mmhgFromKpa(pco2_kpa) };
    const so2 = { bicarbonate: check.input.bicarbonate as BicarbonateName, so2: check.input.so2 as number };
    const sign = result === 'base deficit' ? baseDeficitFromExcess : (x: number) => x;
    const by = (name: string, options = so2) => sign(baseExcess(name as BaseExcessName, gas, HB, options));
    if (check.id === 'gas-sign') {
      expect(baseDeficitFromExcess(-12)).toBe((check.expected as { base_deficit: number }).base_deficit);
    } else if (check.id === 'gas-lt-boundary') {
      expect(Number('7.00') < Number('7.00')).toBe(check.expected);
    } else if (formula === undefined && pco2_kpa !== undefined) {
      within(check, mmhgFromKpa(pco2_kpa));
    } else if (check.input.compare !== undefined) {
      const long = baseExcess('van-slyke-long', gas, HB, { bicarbonate: 'hco3-simple' });
      within(check, baseExcess('van-slyke-one-line', gas, HB) - long);
    } else if (formula === undefined) {
      within(check, kpaFromMmhg(pco2_mmhg));
    } else if (formula === 'any base excess form') {
      for (const name of BASE_EXCESS) within(check, by(name));
    } else if (formula === 'van-slyke, any bicarbonate form') {
      for (const hco3 of Object.values(LONG_FORMS))
        within(check, by('van-slyke-long', { ...so2, bicarbonate: hco3 }));
      within(check, by('van-slyke-one-line'));
    } else if (formula === 'van-slyke-long or be-ecf-clsi') {
      within(check, by('van-slyke-long'));
      within(check, by('be-ecf-clsi'));
    } else if (LONG_FORMS[formula] !== undefined) {
      within(check, by('van-slyke-long', { ...so2, bicarbonate: LONG_FORMS[formula]! }));
    } else if (formula === 'van-slyke one-line') {
      within(check, by('van-slyke-one-line'));
    } else if (decimals === 1) {
      expect(oneDecimal(by(formula))).toBe(check.expected);
    } else if (String(formula).startsWith('hco3')) {
      within(check, bicarbonate(formula as BicarbonateName, gas));
    } else if (BASE_EXCESS.includes(formula)) {
      within(check, by(formula));
    } else unread(check);
  });
});

interface PairCheckInput {
  artery?: Sample;
  vein: Sample;
  artery_ph?: number;
  vein_ph: number;
  artery_pco2_mmhg?: number;
  vein_pco2_mmhg: number;
}
interface Sample {
  ph?: number;
  pco2_kpa?: number;
  pco2_mmhg?: number;
}
const pairInput = ({ ph, pco2_kpa, pco2_mmhg }: Sample): PairInput => ({
  ph,
  pco2: pco2_kpa,
  pco2Mmhg: pco2_mmhg,
});

describe('paired samples', () => {
  it.each(checksOf('cord-pair'))('%s', (_title, check) => {
    const { artery, vein, artery_ph, vein_ph, artery_pco2_mmhg, vein_pco2_mmhg } =
      check.input as unknown as PairCheckInput;
    if (artery !== undefined) {
      // The limits are those of the check: the app holds no rule against a pair, it gives the differences.
      const { phDifference, pco2DifferenceKpa } = comparePair(pairInput(artery), pairInput(vein));
      const meets = ([ph, kpa]: [number, number]) =>
        phDifference! >= ph && pco2DifferenceKpa! >= kpa - 1e-9 ? 'meets' : 'does not meet';
      expect({ westgate: meets([0.02, 0.5]), kro: meets([0.022, 0.7]) }).toEqual(check.expected);
    } else if (artery_ph !== undefined) {
      const pair = comparePair({ ph: artery_ph }, { ph: vein_ph });
      if (typeof check.expected === 'boolean') expect(pair.phDifference! >= 0.02).toBe(check.expected);
      else within(check, pair.phDifference!);
    } else if (artery_pco2_mmhg !== undefined) {
      const pair = comparePair({ pco2Mmhg: artery_pco2_mmhg }, { pco2Mmhg: vein_pco2_mmhg });
      within(check, pair.pco2DifferenceKpa!);
    } else unread(check);
  });

  it('joins one sample told in several call-outs, keeps a value told in two ways, swaps no labels', () => {
    const record = new MadeRecord()
      .called(at(12), 'arterial pH', { code: 'cord-gas', vessel: 'arterial', ph: 7.3 })
      .called(at(13), 'arterial base excess', {
        code: 'cord-gas',
        vessel: 'arterial',
        baseExcess: -6.5,
        pco2Mmhg: 45,
      })
      .called(at(14), 'arterial pH again', { code: 'cord-gas', vessel: 'arterial', ph: 7.1 })
      .called(at(15), 'venous', { code: 'cord-gas', vessel: 'venous', ph: 7.22, pco2Mmhg: 55 });
    const { samples, pair } = cordGas(record.view);
    expect(samples.map((s) => s.vessel)).toEqual(['arterial', 'venous']);
    expect(samples[0]!.values.ph!.values).toEqual([7.3, 7.1]);
    expect(samples[0]!.values.baseExcess!.values).toEqual([-6.5]);
    expect(pair!.phDifference).toBeNull();
    expect(pair!.notes.map((n) => n.text)).toEqual([expect.stringContaining('Labels are kept')]);
    expect(byFormula('be-ecf-clsi', cordGas(record.view)).map((c) => c.vessel)).toEqual(['venous']);
  });

  it('works out a base excess by a named formula only where one is asked for, with what it is made from', () => {
    const record = new MadeRecord().called(at(12), 'x', {
      code: 'cord-gas',
      vessel: 'arterial',
      ph: 7,
      pco2Mmhg: 80,
    });
    const gas = cordGas(record.view);
    expect(JSON.stringify(gas)).not.toMatch(/mmolL|meets|CLSI|Westgate|Kro/);
    expect(NAMED_FORMULAS.map(({ name, label }) => [label, byFormula(name, gas)[0]!.mmolL])).toEqual([
      ['BE(ecf), CLSI C46', -12],
      ['BE(B), CLSI C46', -13.6],
      ['Van Slyke, Siggaard-Andersen 1977', -10.3],
      ['Lang and Zander 2002, sO2 1', -14.5],
    ]);
    for (const { reference, formula } of NAMED_FORMULAS) {
      expect(sourceOf(reference).read).not.toBe('');
      expect(formula).toContain('pCO2');
    }
  });
});
