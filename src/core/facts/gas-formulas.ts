/** pCO2 in mmHg, haemoglobin in g/dL, results in mmol/L. Nothing here is rounded. */
export interface GasInput {
  ph: number;
  pco2Mmhg: number;
}

export type BicarbonateName = 'hco3-clsi' | 'hco3-0.0307-6.1' | 'hco3-simple' | 'hco3-log-form';
export type BaseExcessName =
  'be-ecf-clsi' | 'be-b-clsi' | 'be-b-with-25' | 'van-slyke-long' | 'van-slyke-one-line' | 'zander-2002';

export const CLSI_SOURCE = 'CLSI https://pmc.ncbi.nlm.nih.gov/articles/PMC6090410/table/vms3101-tbl-0001';
export const CLSI_BLOOD_SOURCE =
  'CLSI, hospital analyser procedure https://manualu.com/it/siemens/lavatrice/silver-wd-1000-top-wd-1200/pdf/48117/18';
export const ANALYSER_SOURCE = 'analyser manual https://www.easymanua.ls/medica/easystat/manual?p=112';
export const VAN_SLYKE_SOURCE = 'http://www-users.med.cornell.edu/~spon/picu/calc/basecalc.htm';
export const ZANDER_SOURCE = 'Zander 2002 http://47.251.13.51:8081/12059083 (PubMed copy)';

/** Bicarbonate by a named formula; the sources are those of the constants above. */
export function bicarbonate(name: BicarbonateName, { ph, pco2Mmhg }: GasInput): number {
  switch (name) {
    case 'hco3-clsi':
      return 0.0307 * pco2Mmhg * 10 ** (ph - 6.105);
    case 'hco3-0.0307-6.1':
      return 0.0307 * pco2Mmhg * 10 ** (ph - 6.1);
    case 'hco3-simple':
      return 0.03 * pco2Mmhg * 10 ** (ph - 6.1);
    case 'hco3-log-form':
      return 10 ** (ph - 7.608 + Math.log10(pco2Mmhg));
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
    case 'be-b-with-25':
      return inBlood(25);
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

/** The formulas offered as a cross-check, each under its own name and with what it assumes. */
export const CROSS_CHECKS: {
  name: BaseExcessName;
  label: string;
  usesHaemoglobin: boolean;
  source: string;
}[] = [
  { name: 'be-ecf-clsi', label: 'BE(ecf), CLSI', usesHaemoglobin: false, source: CLSI_SOURCE },
  { name: 'be-b-clsi', label: 'BE(B), CLSI', usesHaemoglobin: true, source: CLSI_BLOOD_SOURCE },
  { name: 'be-b-with-25', label: 'BE(B) with 25', usesHaemoglobin: true, source: ANALYSER_SOURCE },
  { name: 'van-slyke-long', label: 'Van Slyke, long form', usesHaemoglobin: false, source: VAN_SLYKE_SOURCE },
  {
    name: 'van-slyke-one-line',
    label: 'Van Slyke, one line',
    usesHaemoglobin: false,
    source: VAN_SLYKE_SOURCE,
  },
  { name: 'zander-2002', label: 'Zander 2002, sO2 1', usesHaemoglobin: true, source: ZANDER_SOURCE },
];
