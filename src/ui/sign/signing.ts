import type { RecordView } from '../../core/log/view.ts';

const plain = (name: string) => name.trim().replace(/\s+/g, ' ').toLocaleLowerCase('en-GB');

/** Why this person cannot sign now: name or role not given, or the same name as the other signature. */
export function signingProblem(
  view: RecordView,
  name: string,
  role: string,
): 'name' | 'role' | 'same' | null {
  if (!name.trim()) return 'name';
  if (!role.trim()) return 'role';
  const amended = view.amendments.at(-1)?.seq ?? -1;
  const others = view.signatures.filter(({ seq }) => seq > amended);
  return others.some((signature) => plain(signature.name) === plain(name)) ? 'same' : null;
}
