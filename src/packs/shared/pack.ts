import type { Pack } from '../../core/vocabulary/pack.ts';
import drugs from './drugs.json';
import roles from './roles.json';

/** Who is there and what is given: the same in every emergency. */
export const SHARED = { id: 'shared', roles, drugs } as unknown as Pack;
