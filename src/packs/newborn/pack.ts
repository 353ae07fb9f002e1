import type { Pack } from '../../core/vocabulary/pack.ts';
import codes from './codes.json';
import rest from './pack.json';

/** The newborn's first minutes. Codes, slots and ranges: ../README.md. */
export const NEWBORN = { id: 'newborn', codes, ...rest } as unknown as Pack;
