import type { RecordView } from '../log/view.ts';
import { logged, secondsBetween } from './logged.ts';

/** Record times that the running clocks count from; null where nobody called it out. */
export interface Landmarks {
  headMs: number | null;
  declaredMs: number | null;
  bodyMs: number | null;
}

/**
 * Where something was logged twice the earlier time counts until a person settles it: a clock that shows too long
 * does less harm than one that shows too short.
 */
export function landmarksOf(view: RecordView): Landmarks {
  const first = (code: string) => logged(view, code)[0]?.atMs ?? null;
  return {
    headMs: first('head-delivered'),
    declaredMs: first('dystocia-declared'),
    bodyMs: first('body-delivered'),
  };
}

/**
 * Time since the head, the declaration and the birth, in whole seconds as the note tells them (logged.ts); those of
 * head and declaration stop at the birth of the baby. Null: not logged.
 */
export interface RunningClocks {
  sinceHeadSeconds: number | null;
  sinceDeclarationSeconds: number | null;
  sinceBirthSeconds: number | null;
  stopped: boolean;
}

/** The running clocks at `atMs`. */
export function runningClocks(view: RecordView, atMs: number): RunningClocks {
  const { headMs, declaredMs, bodyMs } = landmarksOf(view);
  const since = (fromMs: number | null, untilMs: number) =>
    fromMs === null ? null : secondsBetween(view, fromMs, untilMs);
  return {
    sinceHeadSeconds: since(headMs, bodyMs ?? atMs),
    sinceDeclarationSeconds: since(declaredMs, bodyMs ?? atMs),
    sinceBirthSeconds: since(bodyMs, atMs),
    stopped: bodyMs !== null,
  };
}
