import type { RecordView } from '../../core/log/view.ts';

/** Record times that the running clocks count from; null where nobody called it out. */
export interface Landmarks {
  headMs: number | null;
  declaredMs: number | null;
  bodyMs: number | null;
}

/** The first logged call-out of each; two of them are a conflict that the review shows. */
export function landmarksOf(view: RecordView): Landmarks {
  const first = (code: string) =>
    view.entries.find(({ entry, status }) => status === 'logged' && entry.code === code)?.atMs ?? null;
  return {
    headMs: first('head-delivered'),
    declaredMs: first('dystocia-declared'),
    bodyMs: first('body-delivered'),
  };
}
