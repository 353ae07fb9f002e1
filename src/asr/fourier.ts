/**
 * Discrete Fourier transform of a fixed length that is a product of small factors.
 *
 * Stockham's ordering, decimation in frequency: no bit reversal, any factors.
 * Source: Van Loan 1992, "Computational Frameworks for the Fast Fourier Transform", section 1.7.
 */
export interface Transform {
  /** Transforms `re` and `im` (length n) in place. */
  run(re: Float64Array, im: Float64Array): void;
}

/** `factors` multiply to the length n. */
export function makeTransform(factors: readonly number[]): Transform {
  const n = factors.reduce((product, factor) => product * factor, 1);
  const cos = Float64Array.from({ length: n }, (_, k) => Math.cos((-2 * Math.PI * k) / n));
  const sin = Float64Array.from({ length: n }, (_, k) => Math.sin((-2 * Math.PI * k) / n));
  const otherRe = new Float64Array(n);
  const otherIm = new Float64Array(n);

  return {
    run(re, im) {
      let [fromRe, fromIm, toRe, toIm]: [Float64Array, Float64Array, Float64Array, Float64Array] = [
        re,
        im,
        otherRe,
        otherIm,
      ];
      let length = n;
      let stride = 1;
      for (const radix of factors) {
        const rows = length / radix;
        const turn = n / radix;
        for (let p = 0; p < rows; p++) {
          for (let u = 0; u < radix; u++) {
            const twist = (n / length) * p * u;
            for (let q = 0; q < stride; q++) {
              let sumRe = 0;
              let sumIm = 0;
              let angle = twist % n;
              for (let t = 0, at = q + stride * p; t < radix; t++, at += stride * rows) {
                sumRe += fromRe[at]! * cos[angle]! - fromIm[at]! * sin[angle]!;
                sumIm += fromRe[at]! * sin[angle]! + fromIm[at]! * cos[angle]!;
                angle += turn * u;
                angle %= n;
              }
              const to = q + stride * (radix * p + u);
              toRe[to] = sumRe;
              toIm[to] = sumIm;
            }
          }
        }
        [fromRe, fromIm, toRe, toIm] = [toRe, toIm, fromRe, fromIm];
        length = rows;
        stride *= radix;
      }
      if (fromRe !== re) {
        re.set(fromRe);
        im.set(fromIm);
      }
    },
  };
}
