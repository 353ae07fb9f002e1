import type { CodeInfo, Vocabulary } from './vocabulary.ts';

/**
 * What the vocabulary holds on a code. A code that this vocabulary lacks (a record from a unit with
 * words of its own) is shown by its own name, so that no entry is ever hidden.
 */
export function codeInfo(vocabulary: Vocabulary, code: string): CodeInfo {
  return (
    vocabulary.codes.get(code) ?? {
      code,
      group: 'other',
      label: code.replace(/-/g, ' ').replace(/^./, (letter) => letter.toUpperCase()),
      description: '',
      slots: [],
      phases: [],
      required: [],
      free: true,
    }
  );
}
