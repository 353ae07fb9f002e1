import { ALL_SLOTS, slotInfo } from '../slots.ts';
import notes from './field-notes.json' with { type: 'json' };

interface Schema {
  $ref?: string;
  type?: string;
  const?: unknown;
  enum?: unknown[];
  pattern?: string;
  items?: Schema;
  properties?: Record<string, Schema>;
  required?: string[];
  oneOf?: Schema[];
  anyOf?: Schema[];
  minimum?: number;
  maximum?: number;
}

const NOTES = notes as Record<string, string>;
const SLOTS = new Map<string, string>(
  ALL_SLOTS.map((slot) => {
    const { about, unit } = slotInfo(slot);
    return [slot, unit === undefined ? (about ?? '') : `${about ?? ''} Unit: ${unit}.`];
  }),
);

/** The parts of an Apgar score are the only nested fields of an entry. */
const SIGN = 'Points of this sign of an Apgar score.';

/** "integer, 0 to 10", "one of left, right", "list of hash". */
function typeOf(schema: Schema): string {
  if (schema.$ref) return schema.$ref.replace('#/$defs/', '');
  if (schema.const !== undefined) return `always ${JSON.stringify(schema.const)}`;
  if (schema.enum) return `one of ${schema.enum.map(String).join(', ')}`;
  const many = schema.oneOf ?? schema.anyOf;
  if (many && schema.type === undefined) return many.map(typeOf).join(' or ');
  if (schema.type === 'array') return `list of ${schema.items ? typeOf(schema.items) : 'anything'}`;
  const range =
    schema.minimum !== undefined && schema.maximum !== undefined
      ? `, ${schema.minimum} to ${schema.maximum}`
      : '';
  return `${schema.type ?? 'anything'}${range}`;
}

/** Rows of a part of the schema, those of nested objects after their parent as "parent.child". */
function rows(schema: Schema, isEntry: boolean, under = ''): string[] {
  return Object.entries(schema.properties ?? {}).flatMap(([name, field]) => {
    const meaning = (isEntry && under === '' ? SLOTS.get(name) : undefined) ?? NOTES[name];
    if (!meaning && !isEntry)
      throw new Error(`The field ${name} has no note: add a line to field-notes.json.`);
    const must = schema.required?.includes(name) ? 'yes' : '';
    const cells = [`\`${under}${name}\``, typeOf(field), must, meaning ?? SIGN];
    const row = `| ${cells.map((cell) => cell.replaceAll('|', '\\|')).join(' | ')} |`;
    const inner = [field.items ?? field, ...(field.oneOf ?? field.anyOf ?? [])];
    return [row, ...inner.flatMap((of) => rows(of, isEntry, `${under}${name}.`))];
  });
}

/**
 * The page that tells integrators what each field of an exported record means, made from the schema.
 * @throws an Error where a field has no note.
 */
export function fieldPage(schema: object): string {
  const { $defs, ...file } = schema as Schema & { $defs: Record<string, Schema> };
  const head = '| field | type | always there | what it is |\n|---|---|---|---|';
  const part = (title: string, of: Schema, isEntry = false) =>
    `## ${title}\n\n${head}\n${rows(of, isEntry).join('\n')}\n`;
  const kinds = Object.keys($defs).filter((name) => name.startsWith('event-'));
  return [
    '# Fields of an exported record\n\nMade by `npm run schema` from static/utterlog-record.schema.json; do not edit it here.\n',
    part('The file', file),
    part('An entry', $defs.entry!, true),
    ...['span', 'author', 'versions', 'device'].map((name) => part(`A part: ${name}`, $defs[name]!)),
    ...kinds.map((name) => part(`An event: ${name.slice('event-'.length)}`, $defs[name]!)),
  ].join('\n');
}
