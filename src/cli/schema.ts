import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { withSlots } from '../core/record/record-schema.ts';

/** Writes what slots.json says of entries into static/utterlog-record.schema.json. */
const FILE = join(import.meta.dirname, '../../static/utterlog-record.schema.json');
writeFileSync(FILE, `${JSON.stringify(withSlots(JSON.parse(readFileSync(FILE, 'utf8'))), null, 2)}\n`);
