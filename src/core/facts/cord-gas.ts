import type { Entry, Vessel } from '../entry.ts';
import type { RecordView } from '../log/view.ts';
import { compare, decimal, minus, times, toNumber, type Decimal } from './decimal.ts';
import { baseExcess, type BaseExcessName } from './gas-formulas.ts';
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

export interface GasPair {
  /** Vein − artery, and artery − vein in kPa; null where a value is missing or told in two ways. */
  phDifference: number | null;
  pco2DifferenceKpa: number | null;
  /** `reference`: id of its source (sources.json). */
  notes: { text: string; reference?: string }[];
}

/** A base excess by one named formula. Never the analyser's value, never printed under its label. */
export interface ByFormula {
  vessel: GasSample['vessel'];
  ph: number;
  pco2Mmhg: number;
  haemoglobinGPerDl: number;
  /** To one decimal. */
  mmolL: number;
}

export interface CordGasFacts {
  samples: GasSample[];
  pair: GasPair | null;
}

/** Cord gases of a record: the samples as told, and how artery and vein differ. No rule is held against them. */
export function cordGas(view: RecordView): CordGasFacts {
  const samples = samplesIn(logged(view, 'cord-gas').map((e) => ({ entryId: e.entryId, entry: e.entry })));
  const artery = samples.find((sample) => sample.vessel === 'arterial');
  const vein = samples.find((sample) => sample.vessel === 'venous');
  return {
    samples,
    pair: artery && vein ? comparePair(readable(artery), readable(vein)) : null,
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

/** Differences of a pair, on decimals: 7.22 − 7.20 is 0.02. */
export function comparePair(artery: PairInput, vein: PairInput): GasPair {
  const ph =
    artery.ph === undefined || vein.ph === undefined ? null : minus(decimal(vein.ph), decimal(artery.ph));
  const [a, v] = [pco2Exact(artery), pco2Exact(vein)];
  const pco2 = a === null || v === null ? null : minus(a, v);
  const zero = decimal(0);
  const notes: GasPair['notes'] = [];
  if (ph && pco2 && compare(ph, zero) === 0 && compare(pco2, zero) === 0) notes.push(rules.notes.alike);
  if ((ph && compare(ph, zero) < 0) || (pco2 && compare(pco2, zero) < 0)) notes.push(rules.notes.reversed);
  return {
    phDifference: ph && toNumber(ph),
    pco2DifferenceKpa: pco2 && toNumber(pco2) / 760,
    notes,
  };
}

/** Base excess of each sample by the formula that a person chose; none where a value is missing or told in two ways. */
export function byFormula(name: BaseExcessName, { samples }: CordGasFacts): ByFormula[] {
  const haemoglobinGPerDl = rules.haemoglobinGPerDl.value;
  return samples.flatMap((sample) => {
    const { ph, pco2, pco2Mmhg } = readable(sample);
    const pressure = pco2Mmhg ?? (pco2 === undefined ? undefined : mmhgFromKpa(pco2));
    if (ph === undefined || pressure === undefined) return [];
    const mmolL = oneDecimal(baseExcess(name, { ph, pco2Mmhg: pressure }, haemoglobinGPerDl));
    return [{ vessel: sample.vessel, ph, pco2Mmhg: pressure, haemoglobinGPerDl, mmolL }];
  });
}

/** Rounded half away from zero; never "-0". */
export const oneDecimal = (value: number): number =>
  (Math.sign(value) * Math.round(Math.abs(value) * 10)) / 10 + 0;
