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

interface RecordSchema {
  $defs: { entry: { properties: object }; problem: object };
}

/** The schema of a record with what slots.json says of entries and questions put in; the rest stays as it is. */
export function withSlots<T extends RecordSchema>(schema: T): T {
  const properties = {
    code: { type: 'string', pattern: '^[a-z0-9-]{1,64}$' },
    ...Object.fromEntries(ALL_SLOTS.map((slot) => [slot, slotSchema(slot)])),
    spoken: { type: 'string', maxLength: LONGEST },
    unclear: { const: true },
  };
  return {
    ...schema,
    $defs: {
      ...schema.$defs,
      problem: { enum: PROBLEMS },
      entry: { ...schema.$defs.entry, properties },
    },
  };
}
