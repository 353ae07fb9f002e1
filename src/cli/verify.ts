import { readFileSync } from 'node:fs';
import { parseArgs } from 'node:util';
import { describeSeal } from '../core/log/seal-text.ts';
import { judgeSeal } from '../core/log/seal.ts';
import { readForSeal } from '../core/record/read-for-seal.ts';
import { checkSignature } from '../store/signature.ts';

const USAGE = `Usage: npm run -s verify -- RECORD.json [--head HASH]
Holds an exported record against its own chain, signatures and closing, and against the head that an earlier
note printed. Exit status: 0 nothing was found shortened, changed or sealed again (not signed: see the text);
1 something was found; 2 the file could not be read as a record.`;

function fail(message: string): never {
  process.stderr.write(`${message}\n`);
  process.exit(2);
}

function options(): { path: string; head: string | undefined } {
  try {
    const { values, positionals } = parseArgs({
      allowPositionals: true,
      options: { head: { type: 'string' } },
    });
    if (positionals.length !== 1)
      fail(`One record file is needed, ${positionals.length} were given.\n${USAGE}`);
    return { path: positionals[0]!, head: values.head?.trim().toLowerCase() };
  } catch (error) {
    return fail(`${error instanceof Error ? error.message : String(error)}\n${USAGE}`);
  }
}

const { path, head } = options();
let content: string;
try {
  content = readFileSync(path, 'utf8');
} catch {
  fail(`The file ${path} cannot be read. Check the name and try again.`);
}
if (head !== undefined && !/^[0-9a-f]{64}$/.test(head))
  fail(`"${head}" is no head: a note prints it as 64 digits of 0 to 9 and a to f.`);
const read = readForSeal(content);
if (read.kind === 'unreadable') fail(`${path}: ${read.why}`);
const verdict =
  read.kind === 'unsealed'
    ? null
    : await judgeSeal(read.file, read.closing, checkSignature, head === undefined ? {} : { head });
if (verdict === null) {
  process.stdout.write(
    'not signed\nThis is a file of version 0: nothing in it was sealed, so nothing about it can be shown.\n',
  );
  process.exit(head === undefined ? 0 : 1);
}
process.stdout.write(`${describeSeal(verdict)}\n`);
process.exit(verdict.kind === 'as-exported' || verdict.kind === 'not-signed' ? 0 : 1);
