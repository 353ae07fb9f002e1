/**
 * Token ids → text. Tokens are written in the byte alphabet of GPT-2: printable bytes stand for themselves,
 * the others for the letters from U+0100 on. Source: Radford et al. 2019, encoder.py, bytes_to_unicode.
 */
function byteOfLetter(): Map<string, number> {
  const printable = (byte: number): boolean =>
    (byte >= 33 && byte <= 126) || (byte >= 161 && byte <= 172) || byte >= 174;
  const table = new Map<string, number>();
  let shifted = 0;
  for (let byte = 0; byte < 256; byte++) {
    table.set(String.fromCodePoint(printable(byte) ? byte : 256 + shifted++), byte);
  }
  return table;
}

const BYTES = byteOfLetter();

/** `tokens` as in tokens.json. Ids beyond the list (special tokens) are left out. */
export function makeDetokeniser(tokens: readonly string[]): (ids: readonly number[]) => string {
  const bytes = tokens.map((token) => Uint8Array.from(token, (letter) => BYTES.get(letter) ?? 63));
  return (ids) => {
    const all = ids.flatMap((id) => [...(bytes[id] ?? [])]);
    return new TextDecoder().decode(Uint8Array.from(all));
  };
}
