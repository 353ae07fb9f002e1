/** Letters and digits that are not mistaken for each other (no I, L, O, U, 0, 1). */
const ALPHABET = '23456789ABCDEFGHJKMNPQRSTVWXYZ';
const CODE_LENGTH = 12;

/** A one-use invitation: twelve signs, 58 bits. It holds no key. */
export function newCode(): string {
  let code = '';
  while (code.length < CODE_LENGTH) {
    const [byte] = crypto.getRandomValues(new Uint8Array(1));
    // Values past the last whole round of the alphabet would favour its first letters.
    if (byte! < Math.floor(256 / ALPHABET.length) * ALPHABET.length)
      code += ALPHABET[byte! % ALPHABET.length];
  }
  return code;
}

/** As it is shown and typed: three groups of four. */
export const shownCode = (code: string): string => code.replace(/(.{4})(?=.)/g, '$1-');

/** The code in what a person typed or scanned; null where it is none. */
export function readCode(text: string): string | null {
  const code = text.toUpperCase().replace(/[^0-9A-Z]/g, '');
  return code.length === CODE_LENGTH && [...code].every((sign) => ALPHABET.includes(sign)) ? code : null;
}
