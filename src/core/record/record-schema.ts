import { ALL_SLOTS, PROBLEMS, slotInfo, typedChoice, type ChoiceSlotName } from '../slots.ts';

/** The longest text of an entry that stands in no slot of its own. */
const LONGEST = 4000;

/** JSON schema of one slot. Its bounds keep a damaged file out; they are no plausible ranges. */
function slotSchema(slot: string): object {
  const { values, numbers, yesNo, number, words, parts } = slotInfo(slot);
  if (yesNo) return { type: 'boolean' };
  if (values ?? numbers)
    return {
      enum: Object.keys(values ?? numbers!).map((value) => typedChoice(slot as ChoiceSlotName, value)),
    };
  if (number) {
    const [minimum, maximum] = number.file;
    return { type: number.fileWhole ? 'integer' : 'number', minimum, maximum };
  }
  if (parts)
    return {
      type: 'object',
      properties: Object.fromEntries(
        Object.keys(parts).map((part) => [part, { type: 'integer', minimum: 0, maximum: 2 }]),
      ),
      required: [],
      additionalProperties: false,
    };
  return { type: 'string', maxLength: words?.longest ?? LONGEST };
}

type EventSchema = { properties: Record<string, unknown>; required: string[] };

interface RecordSchema {
  $defs: { entry: { properties: object }; problem: object };
}

/** What sealing puts around every event, whatever it says: its name, and who signs it. */
const ENVELOPE = {
  seq: { type: 'integer', minimum: 0 },
  lane: { $ref: '#/$defs/id' },
  laneSeq: { type: 'integer', minimum: 0 },
  after: { type: 'array', items: { $ref: '#/$defs/hash' }, maxItems: 100 },
  device: { $ref: '#/$defs/device' },
  signature: { $ref: '#/$defs/signature' },
};

/** An event is called by lane and number, or, in version 1, by its number alone. */
function inEnvelope(event: EventSchema): object {
  const { kind, ...said } = event.properties;
  return {
    ...event,
    properties: { kind, ...ENVELOPE, ...without(said, Object.keys(ENVELOPE)) },
    required: event.required.filter((name) => name !== 'seq'),
    dependentRequired: { lane: ['laneSeq', 'after'] },
    anyOf: [{ required: ['seq'] }, { required: ['lane'] }],
  };
}

const without = (properties: Record<string, unknown>, names: readonly string[]) =>
  Object.fromEntries(Object.entries(properties).filter(([name]) => !names.includes(name)));

/** The schema of a record with what slots.json says of entries and what sealing adds put in; the rest stays as it is. */
export function withSlots<T extends RecordSchema>(schema: T): T {
  const properties = {
    code: { type: 'string', pattern: '^[a-z0-9-]{1,64}$' },
    ...Object.fromEntries(ALL_SLOTS.map((slot) => [slot, slotSchema(slot)])),
    spoken: { type: 'string', maxLength: LONGEST },
    unclear: { const: true },
  };
  const events = Object.fromEntries(
    Object.entries(schema.$defs)
      .filter(([name]) => name.startsWith('event-'))
      .map(([name, event]) => [name, inEnvelope(event as unknown as EventSchema)]),
  );
  return {
    ...schema,
    $defs: {
      ...schema.$defs,
      ...events,
      problem: { enum: PROBLEMS },
      entry: { ...schema.$defs.entry, properties },
    },
  };
}
