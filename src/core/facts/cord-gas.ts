import type { Entry, Vessel } from '../entry.ts';
import type { RecordView } from '../log/view.ts';
import { compare, decimal, minus, times, toNumber, type Decimal } from './decimal.ts';
import { baseExcess, CROSS_CHECKS } from './gas-formulas.ts';
import rules from './gas-rules.json';
import { logged } from './logged.ts';
import { mmhgFromKpa } from './units.ts';

export type GasSlot = 'ph' | 'pco2' | 'pco2Mmhg' | 'baseExcess' | 'lactate';
const SLOTS: GasSlot[] = ['ph', 'pco2', 'pco2Mmhg', 'baseExcess', 'lactate'];

/** One sample as it was told, perhaps in several call-outs. A value told in two ways is kept in both. */
export interface GasSample {
  vessel: Vessel | 'not stated';
  values: Partial<Record<GasSlot, { values: number[]; entryIds: string[] }>>;
  entryIds: string[];
}

export interface PairRule {
  id: string;
  name: string;
  /** Numerals, so that they are compared as the decimals they are. */
  minPhDifference: string;
  minPco2DifferenceKpa: string;
  source: string;
}

/** "meets" is not "valid": that is a clinician's word. */
export interface PairCheck {
  rule: string;
  result: 'meets' | 'does not meet' | 'not enough values';
  source: string;
}

export interface GasPair {
  /** Vein − artery, and artery − vein in kPa; null where a value is missing or told in two ways. */
  phDifference: number | null;
  pco2DifferenceKpa: number | null;
  checks: PairCheck[];
  notes: { text: string; source: string }[];
}

export interface CrossCheck {
  vessel: Vessel | 'not stated';
  label: string;
  /** mmol/L to one decimal. Never the analyser's value, never printed under its label. */
  mmolL: number;
  assumes: string;
  source: string;
}

export interface CordGasFacts {
  samples: GasSample[];
  pair: GasPair | null;
  crossChecks: CrossCheck[];
}

export const PAIR_RULES: readonly PairRule[] = rules.pairRules;

/** Cord gases of a record. The unit's own pair rule, where there is one, stands beside the published ones. */
export function cordGas(view: RecordView, unitRule?: PairRule): CordGasFacts {
  const samples = samplesIn(logged(view, 'cord-gas').map((e) => ({ entryId: e.entryId, entry: e.entry })));
  const artery = samples.find((sample) => sample.vessel === 'arterial');
  const vein = samples.find((sample) => sample.vessel === 'venous');
  const pairRules = unitRule === undefined ? PAIR_RULES : [...PAIR_RULES, unitRule];
  return {
    samples,
    pair: artery && vein ? comparePair(readable(artery), readable(vein), pairRules) : null,
    crossChecks: samples.flatMap(crossChecksOf),
  };
}

function samplesIn(entries: readonly { entryId: string; entry: Entry }[]): GasSample[] {
  const samples = new Map<string, GasSample>();
  for (const { entryId, entry } of entries) {
    const vessel = entry.vessel ?? 'not stated';
    const sample = samples.get(vessel) ?? { vessel, values: {}, entryIds: [] };
    samples.set(vessel, sample);
    sample.entryIds.push(entryId);
    for (const slot of SLOTS) {
      const value = entry[slot];
      if (value === undefined) continue;
      const told = (sample.values[slot] ??= { values: [], entryIds: [] });
      if (!told.values.includes(value)) told.values.push(value);
      told.entryIds.push(entryId);
    }
  }
  return [...samples.values()];
}

export interface PairInput {
  ph?: number;
  pco2?: number;
  pco2Mmhg?: number;
}

/** The values of a sample that were told in one way only. */
function readable({ values }: GasSample): PairInput {
  const only = (slot: GasSlot) => (values[slot]?.values.length === 1 ? values[slot].values[0] : undefined);
  return { ph: only('ph'), pco2: only('pco2'), pco2Mmhg: only('pco2Mmhg') };
}

/** pCO2 in 1/760 kPa, exact in either unit: 1 mmHg = 101.325 / 760 kPa. */
function pco2Exact({ pco2, pco2Mmhg }: PairInput): Decimal | null {
  if (pco2 !== undefined) return times(decimal(pco2), decimal(760));
  return pco2Mmhg === undefined ? null : times(decimal(pco2Mmhg), decimal('101.325'));
}

/** Differences of a pair and what each named rule says of them, on decimals: 7.22 − 7.20 is 0.02. */
export function comparePair(artery: PairInput, vein: PairInput, pairRules: readonly PairRule[]): GasPair {
  const ph =
    artery.ph === undefined || vein.ph === undefined ? null : minus(decimal(vein.ph), decimal(artery.ph));
  const [a, v] = [pco2Exact(artery), pco2Exact(vein)];
  const pco2 = a === null || v === null ? null : minus(a, v);
  const checks = pairRules.map((rule) => ({
    rule: rule.name,
    result: checkPair(rule, ph, pco2),
    source: rule.source,
  }));
  const zero = decimal(0);
  const notes: GasPair['notes'] = [];
  if (ph && pco2 && compare(ph, zero) === 0 && compare(pco2, zero) === 0) notes.push(rules.notes.alike);
  if ((ph && compare(ph, zero) < 0) || (pco2 && compare(pco2, zero) < 0)) notes.push(rules.notes.reversed);
  return {
    phDifference: ph && toNumber(ph),
    pco2DifferenceKpa: pco2 && toNumber(pco2) / 760,
    checks,
    notes: notes.map(({ text, source }) => ({ text, source })),
  };
}

function checkPair(rule: PairRule, ph: Decimal | null, pco2: Decimal | null): PairCheck['result'] {
  if (ph === null || pco2 === null) return 'not enough values';
  const minPco2 = times(decimal(rule.minPco2DifferenceKpa), decimal(760));
  const meets = compare(ph, decimal(rule.minPhDifference)) >= 0 && compare(pco2, minPco2) >= 0;
  return meets ? 'meets' : 'does not meet';
}

function crossChecksOf(sample: GasSample): CrossCheck[] {
  const { ph, pco2, pco2Mmhg } = readable(sample);
  const pressure = pco2Mmhg ?? (pco2 === undefined ? undefined : mmhgFromKpa(pco2));
  if (ph === undefined || pressure === undefined) return [];
  const { value: haemoglobin } = rules.haemoglobinGPerDl;
  return CROSS_CHECKS.map(({ name, label, usesHaemoglobin, source }) => ({
    vessel: sample.vessel,
    label,
    mmolL: oneDecimal(baseExcess(name, { ph, pco2Mmhg: pressure }, haemoglobin)),
    assumes: usesHaemoglobin ? `haemoglobin ${haemoglobin} g/dL` : 'nothing further',
    source,
  }));
}

/** Rounded half away from zero; never "-0". */
export const oneDecimal = (value: number): number =>
  (Math.sign(value) * Math.round(Math.abs(value) * 10)) / 10 + 0;
