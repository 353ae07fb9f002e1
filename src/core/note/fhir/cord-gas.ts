import type { Entry } from '../../entry.ts';
import { slotInfo } from '../../slots.ts';
import { logged } from '../../facts/logged.ts';
import type { NoteLine } from '../model.ts';
import { isoText } from '../times.ts';
import { coded, NEWBORN, quantity, type Document, type Resource } from './base.ts';

const VALUES: {
  slot: 'ph' | 'pco2' | 'pco2Mmhg' | 'baseExcess' | 'lactate';
  name: string;
  loinc?: string;
}[] = [
  { slot: 'ph', name: 'pH', loinc: 'pH' },
  { slot: 'pco2', name: 'pCO2', loinc: 'pCO2' },
  { slot: 'pco2Mmhg', name: 'pCO2', loinc: 'pCO2' },
  { slot: 'baseExcess', name: 'Base excess', loinc: 'Base excess by calculation,' },
  { slot: 'lactate', name: 'Lactate' },
];

const VESSELS = { arterial: 'cord artery', venous: 'cord vein' } as const;
const vesselText = ({ vessel }: Entry) =>
  vessel === undefined ? 'cord, vessel not stated' : VESSELS[vessel];

/**
 * One Observation for each printed value of a sample; artery and vein stay apart. The values are the
 * analyser's as told, a base excess always with its sign, never a recomputed one under its name.
 */
export function gasObservations(document: Document, line: NoteLine, shared: Resource): Resource[] {
  const { note, idOf, refTo } = document;
  const { entry, entryId } = line.entry;
  const vessel = vesselText(entry);
  const label = Object.hasOwn(note.view.fields, 'cord-base-label')
    ? note.view.fields['cord-base-label']!.value
    : 'not recorded';
  const { effectiveDateTime: _told, ...rest } = shared;
  const taken = samplingTime(document);
  return VALUES.flatMap(({ slot, name, loinc }): Resource[] => {
    const value = entry[slot];
    if (value === undefined) return [];
    const printed = slot === 'baseExcess' ? [{ text: `Label as printed by the analyser: ${label}` }] : [];
    return [
      {
        ...rest,
        id: idOf(`${entryId}/${slot}`),
        code: coded(
          { code: `gas-${slot}`, display: `Cord blood: ${name}` },
          `${name}, ${vessel}`,
          loinc === undefined ? undefined : `${loinc} ${vessel}`,
        ),
        ...(taken === null ? {} : { effectiveDateTime: taken }),
        ...(entry.vessel === undefined ? {} : { specimen: refTo(`specimen/${entry.vessel}`) }),
        method: { text: 'analyser-printed, as told' },
        valueQuantity: quantity(value, slotInfo(slot).unit!),
        note: [...(shared.note as { text: string }[]), ...printed],
      },
    ];
  });
}

/** Names of the resources that a gas entry becomes. */
export const gasNames = ({ entry, entryId }: NoteLine['entry']): string[] =>
  VALUES.filter(({ slot }) => entry[slot] !== undefined).map(({ slot }) => `${entryId}/${slot}`);

function samplingTime({ note: { view } }: Document): string | null {
  const taken = logged(view, 'cord-samples-taken');
  return taken.length === 1 ? isoText(view, taken[0]!.atMs) : null;
}

/** The samples that values were told of. */
export function specimens(document: Document): Resource[] {
  const { note, idOf, refTo, meta } = document;
  const told = new Set(
    note.lines.filter((l) => l.entry.entry.code === 'cord-gas').map((l) => l.entry.entry.vessel),
  );
  const taken = samplingTime(document);
  return (['arterial', 'venous'] as const)
    .filter((vessel) => told.has(vessel))
    .map((vessel) => ({
      resourceType: 'Specimen',
      id: idOf(`specimen/${vessel}`),
      ...meta(),
      type: { text: `Blood, ${VESSELS[vessel]}` },
      subject: refTo(NEWBORN),
      ...(taken === null ? {} : { collection: { collectedDateTime: taken } }),
    }));
}
