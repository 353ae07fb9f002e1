import type { Entry } from '../entry.ts';
import { ALL_SLOTS, isNumber, rangeOf, slotInfo, type AnySlot, type NumberSlotName } from '../slots.ts';
import type { CodeInfo, Vocabulary } from '../vocabulary/vocabulary.ts';
import type { Problem } from './problem.ts';

/** Slots that one slot of a code brings with it: a pCO2 may have been said in either unit. */
const TOGETHER: Readonly<Partial<Record<AnySlot, AnySlot>>> = { pco2Mmhg: 'pco2' };

const belongs = (slot: AnySlot, { slots, phases }: CodeInfo): boolean => {
  if (slot === 'phase') return phases.length > 0;
  const known: readonly AnySlot[] = slots;
  const other = TOGETHER[slot];
  return (
    known.includes(slot) || (other !== undefined && known.includes(other)) || slotInfo(slot).anyCode === true
  );
};

/** The plausible range of a slot of this code, both ends included. */
const rangeFor = (slot: NumberSlotName, { ranges }: Partial<CodeInfo>): readonly [number, number] =>
  (ranges?.[slot] as [number, number] | undefined) ?? rangeOf(slot);

/**
 * What of an entry this app can not have written: a value outside of its range, and, where a vocabulary is given, a
 * code or role that it does not know, a slot that its code does not have.
 * @returns the place within the entry, and why.
 */
export function entryProblem(entry: Entry, vocabulary?: Vocabulary): Problem | null {
  const info = vocabulary?.codes.get(entry.code);
  if (vocabulary && info === undefined)
    return {
      place: '/code',
      why: `the call-out "${entry.code}" is not among the words of this device; if another unit added it, take over that unit's words in the settings first`,
    };
  for (const slot of ALL_SLOTS) {
    const value = entry[slot];
    if (value === undefined) continue;
    const place = `/${slot}`;
    const { name } = slotInfo(slot);
    if (info !== undefined && !belongs(slot, info))
      return { place, why: `"${info.label}" has no "${name}", and here it has one` };
    if (isNumber(slot)) {
      const [least, most] = rangeFor(slot, info ?? {});
      if ((value as number) < least || (value as number) > most)
        return { place, why: `${name} ${value as number} lies outside ${least} to ${most}` };
    }
    const own = slot === 'phase' ? undefined : info?.values?.[slot];
    if (own !== undefined && !Object.hasOwn(own, String(value)))
      return { place, why: `"${info!.label}" can not have "${String(value)}" as its "${name}"` };
    if (slot === 'phase' && info !== undefined && !info.phases.includes(value as 'start'))
      return { place, why: `"${info.label}" can not be "${String(value)}"` };
    if (slot === 'role' && vocabulary && !vocabulary.roles.some(({ role }) => role === value))
      return { place, why: `the role "${String(value)}" is not among the words of this device` };
  }
  return null;
}
