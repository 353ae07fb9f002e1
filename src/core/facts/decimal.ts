/** A decimal number as a whole number of 10^-scale: exact, unlike a binary float. */
export interface Decimal {
  whole: bigint;
  scale: number;
}

const PLAIN = /^(-?)(\d+)(?:\.(\d+))?$/;

/**
 * A number or numeral as the decimal that people wrote: 7.22 is exactly 7.22. A number too small or
 * large to be written plainly is taken to 12 places.
 * @throws Error where it is no number.
 */
export function decimal(value: number | string): Decimal {
  const numeral = String(value);
  const match = PLAIN.exec(numeral) ?? PLAIN.exec(Number(numeral).toFixed(12));
  if (match === null) throw new Error(`"${value}" is no decimal number.`);
  const [, sign, whole, fraction = ''] = match;
  const size = BigInt(`${whole}${fraction}`);
  return { whole: sign === '-' ? -size : size, scale: fraction.length };
}

const aligned = (a: Decimal, b: Decimal): [bigint, bigint, number] => {
  const scale = Math.max(a.scale, b.scale);
  return [a.whole * 10n ** BigInt(scale - a.scale), b.whole * 10n ** BigInt(scale - b.scale), scale];
};

export function minus(a: Decimal, b: Decimal): Decimal {
  const [x, y, scale] = aligned(a, b);
  return { whole: x - y, scale };
}

export const times = (a: Decimal, b: Decimal): Decimal => ({
  whole: a.whole * b.whole,
  scale: a.scale + b.scale,
});

/** Below 0, 0 or above 0, as a is less than, equal to or more than b. */
export function compare(a: Decimal, b: Decimal): number {
  const [x, y] = aligned(a, b);
  return x < y ? -1 : x > y ? 1 : 0;
}

export const toNumber = (value: Decimal): number => Number(value.whole) / 10 ** value.scale;
