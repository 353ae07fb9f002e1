/** pCO2 in mmHg, haemoglobin in g/dL, results in mmol/L. Nothing here is rounded. */
export interface GasInput {
  ph: number;
  pco2Mmhg: number;
}

export type BicarbonateName = 'hco3-clsi' | 'hco3-0.0307-6.1' | 'hco3-simple';
export type BaseExcessName =
  'be-ecf-clsi' | 'be-b-clsi' | 'van-slyke-long' | 'van-slyke-one-line' | 'zander-2002';

/** Bicarbonate by a named formula. Sources: clsi-c46 and siggaard-andersen-1977 (sources.json). */
export function bicarbonate(name: BicarbonateName, { ph, pco2Mmhg }: GasInput): number {
  switch (name) {
    case 'hco3-clsi':
      return 0.0307 * pco2Mmhg * 10 ** (ph - 6.105);
    case 'hco3-0.0307-6.1':
      return 0.0307 * pco2Mmhg * 10 ** (ph - 6.1);
    case 'hco3-simple':
      return 0.03 * pco2Mmhg * 10 ** (ph - 6.1);
  }
}

/** Base excess by a named formula. `so2` is a fraction, for Zander only. */
export function baseExcess(
  name: BaseExcessName,
  gas: GasInput,
  haemoglobinGPerDl: number,
  options: { bicarbonate?: BicarbonateName; so2?: number } = {},
): number {
  const hco3 = bicarbonate(options.bicarbonate ?? 'hco3-clsi', gas);
  const hb = haemoglobinGPerDl;
  const fromNeutral = gas.ph - 7.4;
  const inBlood = (middle: number) => (1 - 0.014 * hb) * (hco3 - middle + (1.43 * hb + 7.7) * fromNeutral);
  switch (name) {
    case 'be-ecf-clsi':
      return hco3 - 24.8 + 16.2 * fromNeutral;
    case 'be-b-clsi':
      return inBlood(24.8);
    case 'van-slyke-long':
      return 0.9287 * (hco3 - 24.4 + 14.83 * fromNeutral);
    case 'van-slyke-one-line':
      return 0.02786 * gas.pco2Mmhg * 10 ** (gas.ph - 6.1) + 13.77 * gas.ph - 124.58;
    case 'zander-2002': {
      const carbonDioxide = 0.0304 * gas.pco2Mmhg * 10 ** (gas.ph - 6.1) - 24.26;
      const buffer = (9.5 + 1.63 * hb) * fromNeutral;
      return (1 - 0.0143 * hb) * (carbonDioxide + buffer) - 0.2 * hb * (1 - (options.so2 ?? 1));
    }
  }
}

/** The formulas that a person may ask for, each under its own name and with what it assumes. */
export const NAMED_FORMULAS: {
  name: BaseExcessName;
  label: string;
  formula: string;
  usesHaemoglobin: boolean;
  reference: string;
}[] = [
  {
    name: 'be-ecf-clsi',
    label: 'BE(ecf), CLSI C46',
    formula: 'HCO3 − 24.8 + 16.2 × (pH − 7.40); HCO3 = 0.0307 × pCO2 × 10^(pH − 6.105)',
    usesHaemoglobin: false,
    reference: 'clsi-c46',
  },
  {
    name: 'be-b-clsi',
    label: 'BE(B), CLSI C46',
    formula:
      '(1 − 0.014 × Hb) × [HCO3 − 24.8 + (1.43 × Hb + 7.7) × (pH − 7.40)]; HCO3 = 0.0307 × pCO2 × 10^(pH − 6.105)',
    usesHaemoglobin: true,
    reference: 'clsi-c46',
  },
  {
    name: 'van-slyke-long',
    label: 'Van Slyke, Siggaard-Andersen 1977',
    formula: '0.9287 × [HCO3 − 24.4 + 14.83 × (pH − 7.4)]; HCO3 = 0.0307 × pCO2 × 10^(pH − 6.105)',
    usesHaemoglobin: false,
    reference: 'siggaard-andersen-1977',
  },
  {
    name: 'zander-2002',
    label: 'Lang and Zander 2002, sO2 1',
    formula:
      '(1 − 0.0143 × Hb) × {[0.0304 × pCO2 × 10^(pH − 6.1) − 24.26] + (9.5 + 1.63 × Hb) × (pH − 7.4)} − 0.2 × Hb × (1 − sO2)',
    usesHaemoglobin: true,
    reference: 'lang-zander-2002',
  },
];
