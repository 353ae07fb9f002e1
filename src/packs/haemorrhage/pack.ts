import type { Pack } from '../../core/vocabulary/pack.ts';
import codes from './codes.json';
import rest from './pack.json';

/** Bleeding after birth. Codes, slots and ranges: ../README.md. */
export const HAEMORRHAGE = { id: 'haemorrhage', codes, ...rest } as unknown as Pack;
