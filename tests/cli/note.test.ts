import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { unzipSync } from 'fflate';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { deriveFacts } from '../../src/core/facts/derive.ts';
import { buildNote } from '../../src/core/note/build.ts';
import { PRACTICE_MARK } from '../../src/core/note/model.ts';
import { noteTables } from '../../src/core/note/tables/csv.ts';
import { noteText } from '../../src/core/note/text.ts';
import { exportRecord } from '../../src/core/record/export.ts';
import { INVENTED } from '../core/note/invented-records.ts';
import { loadVocabulary } from '../../src/packs/vocabulary.ts';

let folder = '';
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'utterlog-note-'));
  for (const name of ['all-manoeuvres', 'drill']) {
    writeFileSync(join(folder, `${name}.json`), exportRecord(INVENTED[name]!().file));
  }
  writeFileSync(join(folder, 'cut.json'), exportRecord(INVENTED.drill!().file).slice(0, 900));
});
afterAll(() => rmSync(folder, { recursive: true }));

const note = (...given: string[]) => {
  const args = given.map((part) => (part.endsWith('.json') ? join(folder, part) : part));
  const { status, stdout, stderr } = spawnSync(
    process.execPath,
    ['--import', 'tsx', 'src/cli/note.ts', ...args],
    {
      encoding: 'utf8',
    },
  );
  return { status, stdout, stderr };
};

describe('npm run -s note', { timeout: 120_000 }, () => {
  it('writes the text note by default, and nothing to standard error', () => {
    const { file, view } = INVENTED['all-manoeuvres']!();
    expect(note('all-manoeuvres.json')).toEqual({
      status: 0,
      stderr: '',
      stdout: noteText(buildNote(file, view, deriveFacts(view), loadVocabulary())),
    });
  });

  it('writes each format', () => {
    expect(note('all-manoeuvres.json', '--format', 'html').stdout).toMatch(/^<!doctype html>/);
    expect(JSON.parse(note('all-manoeuvres.json', '--format', 'fhir').stdout)).toMatchObject({
      type: 'document',
    });
  });

  it('writes the tables as a zip, the bytes that the app saves', () => {
    const { file, view } = INVENTED['all-manoeuvres']!();
    const { status, stdout } = spawnSync(process.execPath, [
      '--import',
      'tsx',
      'src/cli/note.ts',
      join(folder, 'all-manoeuvres.json'),
      '--format',
      'csv',
    ]);
    expect(status).toBe(0);
    const inside = unzipSync(stdout);
    const tables = noteTables(buildNote(file, view, deriveFacts(view), loadVocabulary()));
    expect(Object.keys(inside)).toEqual(tables.map(({ name }) => name));
    for (const { name, text } of tables) expect(Buffer.from(inside[name]!).toString('utf8')).toBe(text);
  });

  it('makes no FHIR document of a drill unless asked, and then marks it', () => {
    expect(note('drill.json', '--format', 'fhir')).toMatchObject({ status: 2, stdout: '' });
    const asked = note('drill.json', '--format', 'fhir', '--practice');
    expect(asked.status).toBe(0);
    for (const { resource } of JSON.parse(asked.stdout).entry) {
      expect(resource.meta.tag[0].display).toBe(PRACTICE_MARK);
    }
  });

  it.each([
    [['cut.json'], /was not imported/],
    [['absent.json'], /cannot be read/],
    [['drill.json', '--format', 'doc'], /format "doc" is not known/],
    [['drill.json', '--colour'], /Usage/],
    [[], /One record file is needed/],
  ])('ends with code 2 and a sentence for %j', (args, sentence) => {
    const { status, stdout, stderr } = note(...args);
    expect(status).toBe(2);
    expect(stdout).toBe('');
    expect(stderr).toMatch(sentence);
  });
});
