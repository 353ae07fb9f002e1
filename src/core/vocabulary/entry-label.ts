import type { Entry } from '../entry.ts';
import { codeInfo } from './code-info.ts';
import labels from './labels.json';
import type { Vocabulary } from './vocabulary.ts';

const word = (table: Record<string, string>, value: unknown): string => table[String(value)] ?? String(value);

const minus = (value: number): string => String(value).replace('-', '\u2212');
const signed = (value: number): string => (value > 0 ? `+${value}` : minus(value));

/** pH as it is reported, with two decimals at least: 7.2 → "7.20". */
export const phText = (ph: number): string => (Number(ph.toFixed(2)) === ph ? ph.toFixed(2) : String(ph));

type ApgarPart = keyof typeof labels.apgarPart;
export const APGAR_PART_NAMES: Readonly<Record<ApgarPart, string>> = labels.apgarPart;

/** Apgar parts that a person gave: "colour 1, heart rate 2"; empty where there are none. */
export const apgarPartsText = ({ parts }: Entry): string =>
  Object.entries(APGAR_PART_NAMES)
    .flatMap(([part, name]) => {
      const value = parts?.[part as ApgarPart];
      return value === undefined ? [] : [`${name} ${value}`];
    })
    .join(', ');

function gasValues(entry: Entry): string[] {
  const parts: string[] = [];
  if (entry.ph !== undefined) parts.push(`pH ${phText(entry.ph)}`);
  if (entry.baseExcess !== undefined) parts.push(`base excess ${signed(entry.baseExcess)} mmol/L`);
  if (entry.pco2 !== undefined) parts.push(`pCO2 ${entry.pco2} kPa`);
  if (entry.pco2Mmhg !== undefined) parts.push(`pCO2 ${entry.pco2Mmhg} mmHg`);
  if (entry.lactate !== undefined) parts.push(`lactate ${entry.lactate} mmol/L`);
  return parts;
}

/** The slots of an entry in plain words, in the order in which they are read out. */
function details(entry: Entry, roleLabel: (role: string) => string): string[] {
  const parts: string[] = [];
  if (entry.role) parts.push(roleLabel(entry.role));
  if (entry.style) parts.push(word(labels.style, entry.style));
  if (entry.side)
    parts.push(word(entry.code === 'suprapubic-pressure' ? labels.fromSide : labels.side, entry.side));
  if (entry.babySide)
    parts.push(word(entry.code === 'arm-movement' ? labels.babyArm : labels.babySide, entry.babySide));
  if (entry.position) parts.push(entry.position);
  if (entry.present !== undefined) parts.push(word(labels.present, entry.present));
  if (entry.direction) parts.push(word(labels.direction, entry.direction));
  if (entry.decision) parts.push(word(labels.decision, entry.decision));
  if (entry.vessel) parts.push(word(labels.vessel, entry.vessel));
  if (entry.score !== undefined) parts.push(String(entry.score));
  if (entry.minute !== undefined) parts.push(`at ${entry.minute} min`);
  if (apgarPartsText(entry)) parts.push(apgarPartsText(entry));
  parts.push(...gasValues(entry));
  if (entry.grams !== undefined) parts.push(`${entry.grams} g`);
  if (entry.millilitres !== undefined) parts.push(`${entry.millilitres} mL`);
  if (entry.method) parts.push(word(labels.method, entry.method));
  if (entry.bone) parts.push(word(labels.bone, entry.bone));
  if (entry.state) parts.push(word(labels.state, entry.state));
  if (entry.grade) parts.push(word(labels.grade, entry.grade));
  if (entry.drug) parts.push(entry.drug);
  if (entry.dose) parts.push(entry.dose);
  if (entry.text) parts.push(entry.text);
  return parts;
}

/** Plain display name of an entry with its slots, e.g. "Suprapubic pressure, from the mother's left – started". */
export function entryLabel(entry: Entry, vocabulary: Vocabulary): string {
  const role = (name: string) => vocabulary.roles.find((known) => known.role === name)?.label ?? name;
  const { label, group } = codeInfo(vocabulary, entry.code);
  const parts = details(entry, role);
  const joint = group === 'birth' || group === 'manoeuvres' || group === 'pushing' ? ', ' : ': ';
  const named = parts.length > 0 ? `${label}${joint}${parts.join(', ')}` : label;
  return entry.phase ? `${named} – ${word(labels.phase, entry.phase)}` : named;
}
