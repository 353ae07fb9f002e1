/** "(head|baby) out" is "head out" and "baby out": the lists write what wordings share once. */
const CHOICE = /^(.*?)\(([^()]*)\)(.*)$/;

/** Every wording of a list in which parts may be choices. */
export const wordingsOf = (lines: readonly string[]): string[] => lines.flatMap(wordings);

function wordings(line: string): string[] {
  const [, before = '', choice, after = ''] = CHOICE.exec(line) ?? [];
  if (choice === undefined) return [line];
  return choice
    .split('|')
    .flatMap((part) => wordings(`${before}${part}${after}`.replaceAll('  ', ' ').trim()));
}
