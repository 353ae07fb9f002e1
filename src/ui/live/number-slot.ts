/** What a person typed into a number field. Commas count as decimal points. */
export type TypedNumber =
  | { kind: 'empty' }
  | { kind: 'not-a-number' }
  | { kind: 'sign-missing' }
  | { kind: 'out-of-range' }
  | { kind: 'ok'; value: number };

/** Reads a typed number; a signed one needs its sign unless it is zero, since a deficit and an excess differ by it. */
export function readNumber(typed: string, range: [number, number], signed: boolean): TypedNumber {
  const plain = typed.trim().replace(',', '.').replace('−', '-');
  if (plain === '') return { kind: 'empty' };
  if (!/^[+-]?\d+(\.\d+)?$/.test(plain)) return { kind: 'not-a-number' };
  const value = Number(plain);
  if (signed && value !== 0 && !/^[+-]/.test(plain)) return { kind: 'sign-missing' };
  if (value < range[0] || value > range[1]) return { kind: 'out-of-range' };
  return { kind: 'ok', value };
}
