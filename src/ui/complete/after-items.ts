import fields from '../../core/facts/fields.json';
import type { Entry } from '../../core/entry.ts';
import { textFor } from '../messages/text.ts';

/** How an item of the record is asked for at the desk. */
export type Ask =
  /** Entries of one code. `many`: each is one of several (drugs, arrivals); else a second value replaces the first. */
  | { kind: 'entry'; code: string; fixed?: Partial<Entry>; many?: true }
  | { kind: 'text' }
  | { kind: 'choice'; choices: readonly string[] }
  | { kind: 'number'; unit: string }
  | { kind: 'date-time' };

export interface AfterItem {
  id: string;
  label: string;
  ask: Ask;
}

export interface AfterGroup {
  id: string;
  label: string;
  items: AfterItem[];
}

interface Field {
  id: string;
  group: string;
  label: string;
  kind: string;
  filledBy?: { code: string; slot?: string; in?: unknown[] }[];
  choices?: string[];
  unit?: string;
}

const many = (code: string, fixed?: Partial<Entry>): Ask => ({ kind: 'entry', code, fixed, many: true });
const one = (code: string, fixed?: Partial<Entry>): Ask => ({ kind: 'entry', code, fixed });

/** Asked in another way than the list of fields says, because one field holds several entries. */
const INSTEAD: Record<string, [id: string, ask: Ask][]> = {
  'apgar-10': [
    ['apgar-10', one('apgar', { minute: 10 })],
    ['apgar-15', one('apgar', { minute: 15 })],
    ['apgar-20', one('apgar', { minute: 20 })],
  ],
  tone: [
    ['tone', one('tone')],
    ['cry', one('cry')],
  ],
  'arm-movement': [
    ['arm-right', one('arm-movement', { babySide: 'right' })],
    ['arm-left', one('arm-movement', { babySide: 'left' })],
  ],
  'fracture-check': [
    ['fracture-check', { kind: 'text' }],
    ['fracture', many('suspected-fracture')],
  ],
  'perineum-inspected': [
    ['perineum-inspected', one('perineum-inspected')],
    ['sphincter', one('sphincter-examined')],
  ],
  'blood-loss': [['blood-loss', many('blood-loss')]],
  drugs: [
    ['drugs', many('drug-given')],
    ['catheter', one('catheter-inserted')],
  ],
  'help-time': [['help-time', one('help-called')]],
  'arrival-times': [['arrival-times', many('role-arrived')]],
  'paediatric-called': [['roles-called', many('role-called')]],
  pushing: [
    ['stop-pushing', many('stop-pushing')],
    ['push', many('push')],
  ],
  traction: [
    ['traction', { kind: 'text' }],
    ['axial-traction', many('axial-traction')],
  ],
  'fundal-pressure': [
    ['fundal-pressure', { kind: 'text' }],
    ['no-fundal-pressure', one('no-fundal-pressure')],
  ],
  // Slots of entries that are asked for elsewhere, or read from them.
  'blood-loss-method': [],
  'paediatric-arrived': [],
  'anaesthetist-arrived': [],
  'suprapubic-side': [['suprapubic', many('suprapubic-pressure')]],
  'suprapubic-kind': [],
};

/** What is done after the birth comes first; what was done before it last. */
const ORDER = ['baby', 'mother', 'team', 'communication', 'findings', 'timings', 'manoeuvres'];

function askOf(field: Field): Ask | null {
  if (field.kind === 'text' || field.kind === 'date-time') return { kind: field.kind };
  if (field.kind === 'choice') return { kind: 'choice', choices: field.choices ?? [] };
  if (field.kind === 'number') return { kind: 'number', unit: field.unit ?? '' };
  const [first] = field.filledBy ?? [];
  if (field.kind !== 'entry' || !first) return null;
  const value = first.slot && first.in?.length === 1 ? { [first.slot]: first.in[0] } : undefined;
  return one(first.code, value as Partial<Entry> | undefined);
}

/** Everything that can be recorded at the desk, by group. What is derived from other entries is not asked for. */
export const AFTER_GROUPS: AfterGroup[] = ORDER.map((id) => {
  const own = (fields.fields as Field[]).filter(({ group }) => group === id);
  return {
    id,
    label: fields.groups.find((group) => group.id === id)?.label ?? id,
    items: own.flatMap((field) => {
      const ask = askOf(field);
      const asked = INSTEAD[field.id] ?? (ask ? [[field.id, ask] as [string, Ask]] : []);
      return asked.map(([itemId, how]) => ({
        id: itemId,
        label: textFor('desk.item', itemId, field.label),
        ask: how,
      }));
    }),
  };
});
