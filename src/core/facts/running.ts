import type { RecordView } from '../log/view.ts';
import { logged } from './logged.ts';

/** Time since the head and since the declaration; they stop at the birth of the baby. Null: not logged. */
export interface RunningClocks {
  sinceHeadMs: number | null;
  sinceDeclarationMs: number | null;
  stopped: boolean;
}

/**
 * The running clocks at `atMs`. Where something was logged twice the earlier time counts until a person
 * settles it: a clock that shows too long does less harm than one that shows too short.
 */
export function runningClocks(view: RecordView, atMs: number): RunningClocks {
  const headMs = logged(view, 'head-delivered')[0]?.atMs;
  const declaredMs = logged(view, 'dystocia-declared')[0]?.atMs;
  const bodyMs = logged(view, 'body-delivered')[0]?.atMs;
  const untilMs = bodyMs ?? atMs;
  const since = (fromMs: number | undefined) => (fromMs === undefined ? null : untilMs - fromMs);
  return {
    sinceHeadMs: since(headMs),
    sinceDeclarationMs: since(declaredMs),
    stopped: bodyMs !== undefined,
  };
}
