/**
 * One text for one value: keys sorted, no spaces, absent and undefined the same.
 * Takes JSON values only; throws on a number that JSON cannot hold.
 */
export function canonicalJson(value: unknown): string {
  if (typeof value === 'number' && !Number.isFinite(value)) {
    throw new Error(`The number ${value} cannot be kept in a record. Nothing was written. Enter it again.`);
  }
  if (value === null || typeof value !== 'object') return JSON.stringify(value) ?? 'null';
  if (Array.isArray(value)) return `[${value.map(canonicalJson).join(',')}]`;
  const fields = value as Record<string, unknown>;
  const parts: string[] = [];
  for (const key of Object.keys(fields).sort()) {
    if (fields[key] !== undefined) parts.push(`${JSON.stringify(key)}:${canonicalJson(fields[key])}`);
  }
  return `{${parts.join(',')}}`;
}
