import { strToU8, zipSync } from 'fflate';
import type { TableFile } from '../core/note/tables/csv.ts';

/** A ZIP can hold no earlier day. The same record gives the same bytes, whenever it is exported. */
const FIRST_DAY = new Date(1980, 0, 1);

/** The tables of one record in one ZIP. */
export const zipTables = (tables: readonly TableFile[]): Uint8Array<ArrayBuffer> =>
  zipSync(Object.fromEntries(tables.map(({ name, text }) => [name, strToU8(text)])), { mtime: FIRST_DAY });
