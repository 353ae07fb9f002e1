/** 760 mmHg = 101.325 kPa, by definition of the standard atmosphere. */
const MMHG_PER_ATMOSPHERE = 760;
const KPA_PER_ATMOSPHERE = 101.325;

export const mmhgFromKpa = (kpa: number): number => (kpa * MMHG_PER_ATMOSPHERE) / KPA_PER_ATMOSPHERE;
export const kpaFromMmhg = (mmhg: number): number => (mmhg * KPA_PER_ATMOSPHERE) / MMHG_PER_ATMOSPHERE;

/** Haemoglobin as monomer: 1 mmol/L = 1.6114 g/dL (computed; molar mass of the monomer 16 114 g/mol). */
const G_PER_DL_PER_MMOL_PER_L = 1.6114;
export const gPerDlFromMmolPerL = (mmolPerL: number): number => mmolPerL * G_PER_DL_PER_MMOL_PER_L;
export const mmolPerLFromGPerDl = (gPerDl: number): number => gPerDl / G_PER_DL_PER_MMOL_PER_L;

/** International avoirdupois pound and ounce, by definition. */
const GRAMS_PER_POUND = 453.59237;
const GRAMS_PER_OUNCE = 28.349523125;

/** Whole grams. */
export const gramsFromPounds = (pounds: number, ounces = 0): number =>
  Math.round(pounds * GRAMS_PER_POUND + ounces * GRAMS_PER_OUNCE);

/** Pounds and ounces to a tenth of an ounce; never "15 lb 16.0 oz". */
export function poundsFromGrams(grams: number): { pounds: number; ounces: number } {
  const tenths = Math.round((grams / GRAMS_PER_OUNCE) * 10);
  return { pounds: Math.floor(tenths / 160), ounces: (tenths % 160) / 10 };
}

/** A base deficit is the base excess with the other sign. */
export const baseDeficitFromExcess = (baseExcessMmolL: number): number => 0 - baseExcessMmolL;
