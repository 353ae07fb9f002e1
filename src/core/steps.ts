/** Work in small steps: each step yields how much is done so far (0 to 1), the last one returns the result. */
export type Steps<Result> = Generator<number, Result, void>;

/** Does all steps at once. */
export function allAtOnce<Result>(steps: Steps<Result>): Result {
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
  }
}
